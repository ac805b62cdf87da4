#include "cli/inputs.h"

#include <algorithm>
#include <unordered_set>

#include "base/digest.h"
#include "base/limits.h"
#include "dump/layouts.h"
#include "files/gather.h"
#include "files/kind.h"
#include "midi/standard_midi_file.h"

namespace downfit::cli {

namespace {

std::string device_names(const Schemas& schemas) {
    std::string names;
    for (const auto& device : schemas.devices) names += (names.empty() ? "" : " or ") + device->name;
    return names;
}

/// Reads the files of one path after another into dumps.
class Reader {
public:
    Reader(const Schemas& schemas, const std::string& layout, Problems& notes)
        : schemas_(schemas), layout_(layout), notes_(notes) {}

    void read(const std::string& path) {
        Result<std::vector<files::Source>> sources = files::gather(path);
        if (!sources) return fail(sources.problems());
        std::vector<files::Kind> left_out;
        bool used = false;
        for (files::Source& source : sources.value()) {
            const files::Kind kind = files::kind_of(source.bytes);
            if (kind == files::Kind::midi_file) take_messages(source);
            const schema::Device* device = device_of(source, kind);
            if (device != nullptr) {
                used = true;
                add(std::move(source), *device);
            } else if (source.chosen) {
                used = true;
                fail({unrecognised(source.name, kind)});
                // A broken schema may be why.
                fail(schemas_.problems);
            } else {
                left_out.push_back(kind);
            }
        }
        if (!used) return fail({nothing_in(path, left_out)});
        if (left_out.empty()) return;
        const bool one = left_out.size() == 1;
        notes_.push_back({path,
                          std::to_string(left_out.size()) + (one ? " file in it is" : " files in it are") +
                              " left out, for " + (one ? "it is no dump (" : "they are no dumps (") +
                              files::counted(left_out) + ')',
                          {},
                          {}});
    }

    Result<std::vector<Input>> result() && {
        if (inputs_.empty()) {
            for (const Broken& one : broken_) fail(one.problems);
        }
        if (!problems_.empty()) return std::move(problems_);
        for (Broken& one : broken_) inputs_.push_back(damaged_input(std::move(one)));
        return std::move(inputs_);
    }

private:
    /// A file that begins as a dump and breaks the grammar of JSON or XML.
    struct Broken {
        files::Source source;
        Problems problems;
    };

    /// It holds nothing that can be used, and says why.
    Input damaged_input(Broken broken) const {
        Input input;
        input.dump.file = broken.source.name;
        input.dump.digest = sha256_hex(broken.source.bytes);
        input.dump.device = inputs_.front().dump.device;
        input.dump.problems = std::move(broken.problems);
        input.dump.spans.push_back({{0, broken.source.bytes.size()}, dump::Span::Kind::junk, 0});
        input.bytes = std::move(broken.source.bytes);
        return input;
    }

    void fail(const Problems& problems) { problems_.insert(problems_.end(), problems.begin(), problems.end()); }

    /// Puts the messages of a MIDI file in its place. What is wrong in it is told of the dump.
    void take_messages(files::Source& source) {
        const Result<midi::StandardMidiFile> file = midi::read_standard_midi_file(source.bytes, noticed_);
        for (Problem& problem : noticed_) std::get<BytePlace>(problem.place).file = source.name;
        if (!file) return;
        source.bytes = midi::stream_of(file.value().messages, source.bytes);
        source.name += "/System Exclusive";
    }

    /// Whose dump it is. Where there is but one device and the user chose the file, it is told what is wrong with it.
    const schema::Device* device_of(const files::Source& source, files::Kind kind) const {
        const schema::Device* device = dump::recognise(source.bytes, schemas_.views(), layout_);
        const bool may_be =
            kind == files::Kind::exclusive || !layout_.empty() || kind == files::Kind::xml || kind == files::Kind::json;
        if (device == nullptr && source.chosen && may_be && schemas_.devices.size() == 1) {
            return schemas_.devices.front().get();
        }
        return device;
    }

    Problem unrecognised(const std::string& name, files::Kind kind) const {
        std::string what = "holds no message of " + device_names(schemas_);
        if (kind != files::Kind::exclusive && kind != files::Kind::midi_file) {
            const std::string_view word = files::row_of(kind).one;
            const bool vowel = std::string_view("aeiouX").find(word.front()) != std::string_view::npos;
            what = "is " + std::string(vowel ? "an " : "a ") + std::string(word) + " and no dump of " +
                   device_names(schemas_);
        }
        return {name, std::move(what), "a dump that its layouts describe", {}};
    }

    static Problem nothing_in(const std::string& path, const std::vector<files::Kind>& left_out) {
        if (left_out.empty()) return {path, "holds no files", "dumps", {}};
        return {path, "holds no dump, but " + files::counted(left_out), "dumps of presets", {}};
    }

    void add(files::Source source, const schema::Device& device) {
        Result<dump::Dump> dump = dump::read(source.name, source.bytes, device, layout_);
        if (!dump) {
            if (source.chosen) return fail(dump.problems());
            // Beside other files it is one of them that is damaged, and no reason to look at none.
            broken_.push_back({std::move(source), dump.problems()});
            return;
        }
        dump.value().problems.insert(dump.value().problems.begin() + static_cast<std::ptrdiff_t>(dump.value().notes),
                                     noticed_.begin(), noticed_.end());
        noticed_.clear();
        if (!inputs_.empty() && inputs_.front().dump.device != &device) {
            return fail({{source.name,
                          "is of another device (" + device.name + ") than " + inputs_.front().dump.file + " (" +
                              inputs_.front().dump.device->name + ')',
                          {},
                          "check them one after the other"}});
        }
        inputs_.push_back({std::move(source.bytes), std::move(dump).value()});
    }

    const Schemas& schemas_;
    const std::string& layout_;
    Problems& notes_;
    Problems noticed_;  ///< in the MIDI file at hand
    std::vector<Broken> broken_;
    std::vector<Input> inputs_;
    Problems problems_;
};

}  // namespace

Result<std::vector<Input>> read_inputs(const std::vector<std::string>& paths, const Schemas& schemas,
                                       const std::string& layout, Problems& notes) {
    if (auto problem = dump::unknown_layout(schemas.views(), layout)) return *std::move(problem);
    Reader reader(schemas, layout, notes);
    for (const std::string& path : paths) reader.read(path);
    return std::move(reader).result();
}

const Problem* first_damage(const dump::Dump& dump) {
    // Whole messages of somebody else are no damage; one that was too long to be looked at may be anything.
    std::unordered_set<std::size_t> foreign;
    for (const dump::Span& span : dump.spans) {
        const bool looked_at = span.span.length <= limits::longest_message;
        if (span.kind == dump::Span::Kind::foreign && looked_at) foreign.insert(span.span.offset);
    }
    const auto first = dump.problems.begin() + static_cast<std::ptrdiff_t>(dump.notes);
    const auto at = std::find_if(first, dump.problems.end(), [&](const Problem& problem) {
        const auto* place = std::get_if<BytePlace>(&problem.place);
        return place == nullptr || !foreign.contains(place->offset);
    });
    return at == dump.problems.end() ? nullptr : &*at;
}

std::vector<std::string> kinds_in(const dump::Dump& dump) {
    std::vector<std::string> kinds;
    for (const dump::Entry& entry : dump.entries) {
        const schema::Framing& framing = dump.device->framings[entry.framing];
        std::string kind = framing.asset;
        if (framing.holds == schema::Holds::presets) kind = "presets";
        if (framing.holds == schema::Holds::unit_settings) kind = "unit-settings";
        if (std::find(kinds.begin(), kinds.end(), kind) == kinds.end()) kinds.push_back(kind);
    }
    return kinds;
}

}  // namespace downfit::cli
