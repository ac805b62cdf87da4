#include <algorithm>

#include "report/contents.h"
#include "report/escape.h"
#include "report/layout.h"
#include "report/problems.h"

namespace downfit::report {

namespace {

constexpr std::size_t value_column = 36;

std::string saved_text(const EntryContents& entry) {
    std::string text;
    for (const std::string& release : entry.saved_on) text += (text.empty() ? "" : " or ") + brief(release);
    if (text.empty() && entry.stamp.empty() && entry.holds != "presets") return text;
    if (text.empty()) text = entry.stamp.empty() ? "no stamp" : "unknown stamp " + brief(entry.stamp);
    return text;
}

std::string heading_of(const std::string& holds) {
    if (holds == "presets") return "presets";
    return holds == "unit-settings" ? "unit settings, not presets" : brief(holds) + ", not presets";
}

void append_list(std::string& out, const ContentsReport& report, const std::string& holds, const Style& style) {
    std::vector<const EntryContents*> rows;
    std::vector<int> empty;
    std::size_t names = 4;
    for (const EntryContents& entry : report.entries) {
        if (entry.holds != holds) continue;
        if (entry.state == dump::SlotState::empty && !report.all) {
            empty.push_back(entry.slot);
            continue;
        }
        rows.push_back(&entry);
        names = std::max(names, columns(brief(entry.name)));
    }
    names = std::min<std::size_t>(names, 32);
    std::sort(empty.begin(), empty.end());
    out += '\n' + paint(heading_of(holds), Tone::strong, style) + '\n';
    if (!rows.empty()) {
        append_line(out, right("slot", 5) + "  " + left("name", names) + "  " + left("state", 8) + "  saved on");
    }
    for (const EntryContents* entry : rows) {
        const std::string slot = entry->slot >= 0 ? std::to_string(entry->slot) : "-";
        const Tone tone = entry->state == dump::SlotState::damaged ? Tone::worst : Tone::plain;
        const std::string saved = entry->state == dump::SlotState::empty ? "" : saved_text(*entry);
        append_line(out, right(slot, 5) + "  " + left(brief(entry->name), names) + "  " +
                             paint(left(state_name(entry->state), 8), tone, style) + "  " + saved);
        for (const Problem& problem : entry->damage) append_wrapped(out, problem_line(problem), style.width, 9, 11);
    }
    if (!empty.empty()) append_wrapped(out, "empty: " + ranges_text(empty), style.width, 7, 9);
    if (holds == "presets" && !report.absent.empty()) {
        append_wrapped(out, "absent from this dump: " + ranges_text(report.absent), style.width, 7, 9);
    }
}

/// The last step of an id.
std::string last_step(const std::string& id) {
    return brief(id.substr(id.rfind('.') + 1));
}

/// Writes the leaves of one entry, with a line for each group that they lie in.
class TreeWriter {
public:
    TreeWriter(std::string& out, const EntryContents& entry, const ContentsReport& report, const Style& style)
        : out_(out), entry_(entry), all_(report.all), style_(style), off_(groups_off(entry)), folded_(off_.size(), 0) {
        if (all_) off_.assign(off_.size(), false);
    }

    void write() {
        for (const dump::Leaf& leaf : entry_.tree) {
            const int group = entry_.instances->fields()[leaf.field].group;
            if (group >= 0 && off_[static_cast<std::size_t>(group)] && leaf.exists) ++folded_[outermost_off(group)];
        }
        for (const dump::Leaf& leaf : entry_.tree) write_leaf(leaf);
    }

private:
    const schema::GroupInstance& group(int index) const {
        return entry_.instances->groups()[static_cast<std::size_t>(index)];
    }

    std::size_t outermost_off(int index) const {
        int outer = index;
        for (int g = index; g >= 0; g = group(g).parent) {
            if (off_[static_cast<std::size_t>(g)]) outer = g;
        }
        return static_cast<std::size_t>(outer);
    }

    std::size_t depth(int index) const {
        std::size_t count = 0;
        for (int g = index; g >= 0; g = group(g).parent) ++count;
        return count;
    }

    /// Headings of the groups that a leaf lies in and the one before did not.
    void open(int index) {
        if (index < 0 || std::find(open_.begin(), open_.end(), index) != open_.end()) return;
        open(group(index).parent);
        open_.push_back(index);
        std::string line = std::string(2 * depth(index), ' ') + last_step(group(index).id);
        const bool closed = off_[static_cast<std::size_t>(index)];
        if (closed)
            line +=
                "  off, " + counted(folded_[static_cast<std::size_t>(index)], "parameter", "parameters") + " not shown";
        append_line(out_, paint(line, closed ? Tone::faint : Tone::strong, style_));
    }

    void write_leaf(const dump::Leaf& leaf) {
        if (!leaf.exists && !all_) return;
        const schema::Field& field = entry_.instances->fields()[leaf.field];
        if (field.group >= 0 && off_[static_cast<std::size_t>(field.group)]) {
            open(static_cast<int>(outermost_off(field.group)));
            return;
        }
        open(field.group);
        const std::size_t indent = 2 + 2 * (field.group < 0 ? 0 : depth(field.group));
        const std::size_t room = value_column > indent + 2 ? value_column - indent : 2;
        std::string line = std::string(indent, ' ') + left(last_step(field.id), room) + ' ' + brief(leaf.value);
        if (leaf.stored.kind == dump::Stored::Kind::whole) line += "  (" + std::to_string(leaf.stored.whole) + ')';
        if (leaf.beyond_range) line += "  beyond the range " + leaf.range;
        if (leaf.stored.kind == dump::Stored::Kind::none) {
            line += field.anchor >= 0 ? "  not stored" : "  beyond the end of this preset";
        }
        if (!leaf.exists) line += "  does not exist with these settings";
        append_line(out_, cut(line, style_.width));
    }

    std::string& out_;
    const EntryContents& entry_;
    bool all_;
    const Style& style_;
    std::vector<bool> off_;
    std::vector<std::size_t> folded_;
    std::vector<int> open_;
};

void append_tree(std::string& out, const EntryContents& entry, const ContentsReport& report, const Style& style) {
    std::string heading = entry.slot >= 0 ? "Slot " + std::to_string(entry.slot) : "Unit settings";
    if (entry.slot < 0 && entry.holds == "presets") heading = "Preset";
    if (!entry.name.empty()) heading += " \"" + brief(entry.name) + '"';
    heading += ", saved on " + saved_text(entry) + ", read as " + brief(entry.read_as);
    out += '\n' + paint(heading, Tone::strong, style) + '\n';
    TreeWriter(out, entry, report, style).write();
    if (entry.unexplained_bytes == 0) return;
    append_wrapped(out,
                   std::to_string(entry.body_bytes) + " bytes, of which " + std::to_string(entry.unexplained_bytes) +
                       " belong to no parameter of " + brief(entry.read_as),
                   style.width, 2, 4);
}

}  // namespace

std::string contents_text(const ContentsReport& report, const Style& style) {
    std::string out;
    const std::string title = brief(report.device->title.empty() ? report.device->name : report.device->title);
    const std::string maker = report.device->maker.empty() ? "" : " by " + brief(report.device->maker);
    out += paint(printable(report.file) + ": a dump of " + title + maker, Tone::strong, style) + '\n';
    std::vector<std::string> kinds;
    for (const EntryContents& entry : report.entries) {
        if (std::find(kinds.begin(), kinds.end(), entry.holds) == kinds.end()) kinds.push_back(entry.holds);
    }
    if (kinds.empty())
        append_line(out, "  it holds nothing of what was asked for: no filled, empty or damaged slot that fits");
    for (const std::string& kind : kinds) append_list(out, report, kind, style);
    for (const EntryContents& entry : report.entries) {
        if (!entry.tree.empty()) append_tree(out, entry, report, style);
    }
    std::vector<const Problems*> damage;
    for (const EntryContents& entry : report.entries) {
        if (entry.holds == "presets" && entry.state != dump::SlotState::empty) damage.push_back(&entry.damage);
    }
    if (const std::string advice = failing_alike(damage); !advice.empty())
        append_wrapped(out += '\n', advice, style.width, 0, 2);
    if (!report.problems.empty()) out += '\n' + paint("also in the file", Tone::strong, style) + '\n';
    for (const Problem& problem : report.problems) append_wrapped(out, problem_line(problem), style.width, 2, 4);
    return out;
}

}  // namespace downfit::report
