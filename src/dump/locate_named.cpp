// Where the values of a body that is JSON or XML stand.
#include <algorithm>
#include <charconv>
#include <set>

#include "dump/document.h"
#include "dump/locate.h"

namespace downfit::dump {

namespace {

/// Finds the nodes of anchors and keeps count of what is known.
class NamedLocator {
public:
    NamedLocator(const schema::Instances& instances, const schema::Layout& layout, const Document& document,
                 bool last_wins)
        : instances_(instances), layout_(layout), document_(document), last_wins_(last_wins) {
        known_.assign(document.nodes().size(), false);
        whole_.assign(document.nodes().size(), false);
    }

    /// The node of each anchor, -1 where it is not there.
    std::vector<int> locate() {
        std::vector<int> nodes;
        for (const schema::Anchor& anchor : instances_.anchors()) {
            const int around = anchor.parent < 0 ? 0 : nodes[static_cast<std::size_t>(anchor.parent)];
            const int node = around < 0 || !anchor.pick ? -1 : node_of(anchor, around);
            nodes.push_back(node);
            if (node < 0) continue;
            know(node);
            const std::string& version = anchor.pick->place.version_path;
            if (!version.empty()) {
                for (const int value : document_.find(version, node)) know(value);
            }
            if (anchor.group < 0) whole_[static_cast<std::size_t>(node)] = true;
            if (anchor.pick->place.notation == schema::Notation::xml) note_predicates(anchor.pick->place.path);
        }
        for (const std::string& path : layout_.other_paths) {
            for (const int node : document_.find(path, 0)) {
                know(node);
                whole_[static_cast<std::size_t>(node)] = true;
            }
        }
        return nodes;
    }

    /// Values that nothing of the release takes, outermost ones first.
    std::vector<int> unknown() const {
        std::vector<int> found;
        if (!document_.nodes().empty()) add_unknown(0, found);
        return found;
    }

    const std::vector<int>& repeated() const { return repeated_; }

    /// The version that stands in a group's element, where it has one.
    std::optional<std::int64_t> version_of(const schema::Anchor& anchor, int node) const {
        const std::string& path = anchor.pick->place.version_path;
        if (path.empty()) return std::nullopt;
        const std::vector<int> found = document_.find(path, node);
        const auto text = found.empty() ? std::nullopt : document_.text_of(found.front());
        std::int64_t version = 0;
        if (!text || std::from_chars(text->data(), text->data() + text->size(), version).ec != std::errc{}) {
            return std::nullopt;
        }
        return version;
    }

private:
    void know(int node) {
        for (int at = node; at >= 0; at = document_.nodes()[static_cast<std::size_t>(at)].parent) {
            known_[static_cast<std::size_t>(at)] = true;
        }
    }

    /// Attributes named in predicates tell elements apart; they are no parameters.
    void note_predicates(const std::string& path) {
        for (std::size_t at = path.find('@'); at != std::string::npos; at = path.find('@', at + 1)) {
            const std::string before = path.substr(0, at);
            const bool inside = std::ranges::count(before, '[') > std::ranges::count(before, ']');
            if (!inside) continue;
            const std::size_t end = path.find_first_of(" =]!<>,)/", at);
            keys_.insert(path.substr(at + 1, std::min(end, path.size()) - at - 1));
        }
    }

    int node_of(const schema::Anchor& anchor, int around) {
        const schema::NamedPick& pick = *anchor.pick;
        if (pick.nowhere) return -1;
        std::vector<int> found = document_.find(pick.place.path, around);
        if (pick.place.by != schema::NamedBy::order) {
            std::erase_if(found, [&](int node) { return key_of(pick, node) != pick.key; });
        }
        if (found.empty()) return -1;
        if (pick.single) {
            for (std::size_t i = 0; i < found.size(); ++i) {
                know(found[i]);
                if (found.size() > 1) whole_[static_cast<std::size_t>(found[i])] = true;
                if (i > 0) repeated_.push_back(found[i]);
            }
            return last_wins_ ? found.back() : found.front();
        }
        const auto index = static_cast<std::size_t>(anchor.nth) - 1;
        return index < found.size() ? found[index] : -1;
    }

    /// What tells a node from the others that its path finds; what it stands in becomes known.
    std::optional<std::string> key_of(const schema::NamedPick& pick, int node) {
        const DocumentNode& here = document_.nodes()[static_cast<std::size_t>(node)];
        if (pick.place.by == schema::NamedBy::key) return here.name;
        if (pick.place.by == schema::NamedBy::name_before) {
            if (here.parent < 0) return std::nullopt;
            const auto& siblings = document_.nodes()[static_cast<std::size_t>(here.parent)].children;
            const auto at = std::ranges::find(siblings, node);
            if (at == siblings.begin() || at == siblings.end()) return std::nullopt;
            auto name = document_.text_of(*(at - 1));
            if (name == pick.key) know(*(at - 1));
            return name;
        }
        const std::vector<int> values = document_.find(pick.place.by_path, node);
        if (values.empty()) return std::nullopt;
        auto key = document_.text_of(values.front());
        if (key == pick.key) {
            know(values.front());
            whole_[static_cast<std::size_t>(values.front())] = true;
        }
        return key;
    }

    void add_unknown(int node, std::vector<int>& found) const {
        const DocumentNode& here = document_.nodes()[static_cast<std::size_t>(node)];
        const bool in_value = whole_[static_cast<std::size_t>(node)];
        for (const int child : here.children) {
            const auto index = static_cast<std::size_t>(child);
            const DocumentNode& inner = document_.nodes()[index];
            const bool is_attribute = inner.kind == DocumentNode::Kind::attribute;
            if (known_[index]) {
                add_unknown(child, found);
            } else if (is_attribute ? !keys_.contains(inner.name) : !in_value) {
                found.push_back(child);
            }
        }
    }

    const schema::Instances& instances_;
    const schema::Layout& layout_;
    const Document& document_;
    bool last_wins_;
    std::vector<bool> known_;  // by node: it or something in it is taken
    std::vector<bool> whole_;  // by node: taken as one value
    std::vector<int> repeated_;
    std::set<std::string> keys_;
};

}  // namespace

Located::Located(const schema::Instances& instances, const schema::Layout& layout, const Document* document,
                 std::size_t length, bool last_wins)
    : body_length_(length) {
    locate_by_name(instances, layout, document, last_wins);
}

void Located::locate_by_name(const schema::Instances& instances, const schema::Layout& layout, const Document* document,
                             bool last_wins) {
    found_.resize(instances.anchors().size());
    complete_ = document != nullptr;
    if (document == nullptr) return;
    NamedLocator locator(instances, layout, *document, last_wins);
    const std::vector<int> nodes = locator.locate();
    const auto record_of = [&](int node) {
        const DocumentNode& here = document->nodes()[static_cast<std::size_t>(node)];
        return Record{0, std::nullopt, {}, here.has_value ? here.value : here.outer};
    };
    for (std::size_t i = 0; i < nodes.size(); ++i) {
        if (nodes[i] < 0) continue;
        const bool is_group = instances.anchors()[i].group >= 0;
        const DocumentNode& node = document->nodes()[static_cast<std::size_t>(nodes[i])];
        found_[i] = record_of(nodes[i]);
        if (is_group) found_[i]->value = node.outer;
        if (is_group) found_[i]->version = locator.version_of(instances.anchors()[i], nodes[i]);
        if (!is_group && !node.has_value) found_[i].reset();
    }
    for (const int node : locator.unknown()) {
        unknown_.push_back(record_of(node));
        unknown_.back().head = document->nodes()[static_cast<std::size_t>(node)].outer;
    }
    for (const int node : locator.repeated()) repeated_.push_back(record_of(node));
}

NamedBody::NamedBody(schema::Notation notation, ByteView body) : body_(body) {
    Problems notes;
    Result<Document> read = Document::read(notation, {}, body, notes);
    if (read) document_ = std::make_unique<const Document>(std::move(read.value()));
}

NamedBody::~NamedBody() = default;

const Located& NamedBody::located(const schema::Instances& instances, const schema::Layout& layout, bool last_wins) {
    const auto key = std::make_tuple(&instances, &layout, last_wins);
    const auto known = located_.find(key);
    if (known != located_.end()) return known->second;
    return located_.emplace(key, Located(instances, layout, document_.get(), body_.size(), last_wins)).first->second;
}

const Located& located_in(const schema::Instances& instances, const schema::Layout& layout, ByteView body,
                          NamedBody* named, std::optional<Located>& own, bool last_wins) {
    if (named != nullptr && named->is_of(body)) return named->located(instances, layout, last_wins);
    return own.emplace(instances, layout, body, last_wins);
}

std::string NamedBody::path_at(std::size_t offset) const {
    if (!document_) return {};
    int best = -1;
    const auto& nodes = document_->nodes();
    for (std::size_t i = 0; i < nodes.size(); ++i) {
        const ByteSpan& outer = nodes[i].outer;
        const bool around = outer.offset <= offset && offset < outer.offset + std::max<std::size_t>(outer.length, 1);
        if (around) best = static_cast<int>(i);
    }
    return best < 0 ? std::string{} : document_->path_of(best);
}

std::optional<std::string> NamedBody::text_at(const std::string& path) const {
    if (!document_) return std::nullopt;
    const std::vector<int> found = document_->find(path, 0);
    return found.empty() ? std::nullopt : document_->text_of(found.front());
}

}  // namespace downfit::dump
