#include "second/agree.h"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include "compat/check.h"
#include "compat/explore.h"
#include "schema/load.h"
#include "support/file.h"

namespace downfit::testing::second {
namespace {

std::string show(const Fate& fate) {
    static const char* const weights[] = {"none", "slight", "audible", "severe"};
    static const char* const activities[] = {"dormant", "standby", "standby (assigned)", "sounding"};
    std::string text = fate.outcome + " " + weights[fate.worst];
    if (fate.best != fate.worst) text += std::string(" (best ") + weights[fate.best] + ")";
    text += std::string(" ") + activities[fate.activity] + ": " + fate.meant + " -> " + fate.there;
    if (!fate.caution.empty()) text += ", caution " + fate.caution;
    return text;
}

/// A value of the library in the words of the second loader.
std::string words_of(const compat::Side& side) {
    if (side.as_base()) return "as in the preset";
    if (side.at_nothing()) return "nothing";
    if (side.loaded->stored.kind == dump::Stored::Kind::text) return "\"" + side.loaded->stored.text + "\"";
    if (side.kind() == compat::Class::thing) {
        if (const std::string key = side.target_key(); !key.empty()) {
            std::string spelt = key;
            for (std::size_t dot = spelt.find('.', spelt.find('#'));
                 dot != std::string::npos && spelt.find('#') != std::string::npos; dot = spelt.find('.', dot + 1)) {
                spelt[dot] = '#';
            }
            return "to " + spelt;
        }
        return side.loaded->choice == nullptr ? "?" + std::to_string(side.loaded->stored.whole)
                                              : side.loaded->choice->meaning;
    }
    return number_words(side.loaded->value);
}

compat::Side side_of(const compat::CompiledRelease& release, const compat::LoadedPreset& preset, int field) {
    if (field < 0) return {};
    const auto at = static_cast<std::size_t>(field);
    return {&release, &release.fields()[at], &preset.fields[at]};
}

/// The library's answer in the form of the second loader's.
class Library {
public:
    Library(const schema::Device& device, std::size_t saved, std::size_t loading)
        : device_(device),
          n_(device, *device.releases[saved].schema),
          t_(device, *device.releases[loading].schema),
          pair_(n_, t_, device),
          checker_(device, options_for(loading)) {}

    Told judge(const dump::Entry& entry, std::size_t saved, std::string& trouble) {
        Told told;
        told.cut = entry.state == dump::SlotState::damaged;
        if (told.cut) return judge_damaged(entry, told);
        const compat::Image image{entry.body, entry.layout, saved, dump::shown_slot(device_, entry), {}, nullptr};
        const compat::Exploration exploration = compat::explore(pair_, image, {}, compat::Hearing{}, {});
        bool judged = false;
        for (const compat::Run& run : exploration.runs) {
            judged = judged || run.judged();
            for (std::size_t i = 0; i < run.saved.fields.size(); ++i) {
                if (run.saved.fields[i].exists && !run.saved.fields[i].known)
                    told.doubts.insert(n_.fields()[i].field->id);
            }
            if (!run.judged()) continue;
            for (std::size_t i = 0; i < pair_.links().size(); ++i) add(run, pair_.links()[i], run.judgements[i], told);
        }
        told.worlds = exploration.complete ? exploration.runs.size() : 0;
        const compat::PresetCheck checked = checker_.check(entry);
        const compat::TargetCheck& target = checked.targets.front();
        told.verdict = compat::verdict_name(target.verdict);
        told.best = compat::verdict_name(target.best);
        told.worst = compat::verdict_name(target.worst);
        if (judged) check_findings(target, told, trouble);
        return told;
    }

private:
    Told judge_damaged(const dump::Entry& entry, Told& told) {
        const compat::TargetCheck target = checker_.check(entry).targets.front();
        told.verdict = compat::verdict_name(target.verdict);
        told.best = compat::verdict_name(target.best);
        told.worst = compat::verdict_name(target.worst);
        told.worlds = 1;
        return told;
    }

    static compat::CheckOptions options_for(std::size_t loading) {
        compat::CheckOptions options;
        options.targets = {loading};
        options.brought_by = false;
        return options;
    }

    void add(const compat::Run& run, const compat::Link& link, const compat::Judgement& judgement, Told& told) const {
        Fate fate;
        fate.outcome = compat::row_of(judgement.outcome).name;
        fate.best = static_cast<int>(judgement.best);
        fate.worst = static_cast<int>(judgement.worst);
        fate.activity = static_cast<int>(judgement.activity);
        if (judgement.caution) fate.caution = compat::caution_name(*judgement.caution);
        const compat::Side n = side_of(n_, run.saved, link.saved);
        const compat::Side t = side_of(t_, run.loading, link.loading);
        if (n.exists()) fate.meant = words_of(n);
        if (t.exists()) fate.there = words_of(t);
        told.fates[(n.field != nullptr ? n.field->field->id : "") + "|" +
                   (t.field != nullptr ? t.field->field->id : "")]
            .insert(fate);
    }

    /// What is reported must be the worst of what was explored.
    static void check_findings(const compat::TargetCheck& target, const Told& told, std::string& trouble) {
        for (const auto& [name, fates] : told.fates) {
            int best = severe;
            int worst = none;
            for (const Fate& fate : fates) {
                best = std::min(best, fate.best);
                worst = std::max(worst, fate.worst);
            }
            const std::string n_name = name.substr(0, name.find('|'));
            const std::string t_name = name.substr(name.find('|') + 1);
            bool found = false;
            bool right = false;
            for (const compat::Finding& finding : target.findings) {
                const bool of_both = finding.parameter == n_name &&
                                     (t_name.empty() || t_name == n_name || finding.parameter_there == t_name);
                if (!of_both && finding.parameter != t_name) continue;
                found = true;
                right = right || (static_cast<int>(finding.weight) == worst && static_cast<int>(finding.best) == best);
            }
            if (!found && worst > none) trouble += "no finding for " + name + "\n";
            if (found && !right && worst > none)
                trouble += "the finding for " + name + " does not tell the best and worst of the runs\n";
        }
    }

    const schema::Device& device_;
    compat::CompiledRelease n_, t_;
    compat::ReleasePair pair_;
    compat::Checker checker_;
};

std::string problems_text(const Problems& problems) {
    std::string text;
    for (const Problem& problem : problems) {
        if (const auto* place = std::get_if<TextPlace>(&problem.place))
            text += place->file + " " + place->pointer + ": ";
        text += problem.what + "; " + problem.expected + " " + problem.remedy + "\n";
    }
    return text;
}

std::string differences(const Told& library, const Told& second) {
    std::string text;
    if (library.cut != second.cut) return library.cut ? "only the library says cut\n" : "only the second says cut\n";
    const bool too_many = library.worlds == 0;
    // The library stops sooner; where the second has to, it must have too.
    if (second.too_many && !too_many) return "the library tried all, the second could not\n";
    if (second.too_many) return library.verdict == "undecided" ? "" : "a verdict without trying all rules\n";
    if (!too_many &&
        std::tie(library.verdict, library.best, library.worst) != std::tie(second.verdict, second.best, second.worst)) {
        text += "verdict: library " + library.verdict + " (" + library.best + ".." + library.worst + "), second " +
                second.verdict + " (" + second.best + ".." + second.worst + ")\n";
    }
    if (too_many && library.verdict != "undecided")
        text += "verdict: library " + library.verdict + " without trying all rules\n";
    if (!too_many && library.doubts != second.doubts) {
        text += "doubts: library";
        for (const std::string& name : library.doubts) text += " " + name;
        text += ", second";
        for (const std::string& name : second.doubts) text += " " + name;
        text += "\n";
    }
    std::set<std::string> names;
    for (const auto* told : {&library, &second}) {
        for (const auto& [name, fates] : told->fates) names.insert(name);
    }
    for (const std::string& name : names) {
        const auto l = library.fates.find(name);
        const auto s = second.fates.find(name);
        const std::set<Fate> left = l == library.fates.end() ? std::set<Fate>{} : l->second;
        const std::set<Fate> right = s == second.fates.end() ? std::set<Fate>{} : s->second;
        if (left == right || (too_many && std::includes(right.begin(), right.end(), left.begin(), left.end())))
            continue;
        text += name + "\n";
        for (const Fate& fate : left) {
            if (right.count(fate) == 0) text += "  library " + show(fate) + "\n";
        }
        for (const Fate& fate : right) {
            if (left.count(fate) == 0) text += "  second  " + show(fate) + "\n";
        }
    }
    return text;
}

void count(const Told& told, Tally& tally) {
    ++tally.presets;
    ++tally.verdicts[told.verdict];
    for (const auto& [name, fates] : told.fates) {
        ++tally.parameters;
        if (fates.size() > 1) ++tally.unsure;
        for (const Fate& fate : fates) ++tally.outcomes[fate.outcome];
    }
}

}  // namespace

Bits dump_of(const std::string& saved, const std::vector<Bits>& bodies) {
    Bits dump;
    for (std::size_t slot = 0; slot < bodies.size(); ++slot) {
        dump.insert(dump.end(),
                    {0xF0, 0x7D, 0x09, static_cast<std::uint8_t>(slot), static_cast<std::uint8_t>(saved[0] - '0')});
        for (const std::uint8_t byte : bodies[slot]) {
            dump.push_back(static_cast<std::uint8_t>(byte >> 4));
            dump.push_back(byte & 15);
        }
        dump.push_back(0xF7);
    }
    return dump;
}

std::optional<Disagreement> compare(const Scene& scene, const std::vector<Bits>& bodies, Tally& tally) {
    std::vector<schema::SourceFile> sources;
    for (const auto& [name, text] : scene.files) sources.push_back({name, text});
    const auto loaded = schema::load_device(sources);
    if (!loaded) return Disagreement{-1, "the library does not take the device:\n" + problems_text(loaded.problems())};
    const schema::Device& device = loaded.value();
    const Shelf shelf = shelf_of(scene.files);
    const Pair pair = pair_of(shelf, scene.saved, scene.loading);
    const std::size_t saved = order_of(shelf, scene.saved);
    const Bits bytes = dump_of(scene.saved, bodies);
    const auto dump = dump::read("bank.syx", bytes, device);
    if (!dump || dump.value().entries.size() != bodies.size())
        return Disagreement{-1, "the library does not read the dump"};
    Library library(device, saved, order_of(shelf, scene.loading));
    for (const std::string& kind : scene.kinds) ++tally.kinds[kind];
    for (std::size_t i = 0; i < bodies.size(); ++i) {
        const dump::Entry& entry = dump.value().entries[i];
        std::string text;
        if (entry.body != bodies[i]) text = "the library read another body\n";
        const Told left = library.judge(entry, saved, text);
        const Told right = judge(pair, shelf, {bodies[i], saved, static_cast<int>(i) + 1, {}});
        text += differences(left, right);
        if (!text.empty()) return Disagreement{static_cast<int>(i), text};
        count(right, tally);
    }
    return std::nullopt;
}

void write_case(const std::filesystem::path& folder, const Scene& scene, const Bits& body, const std::string& text) {
    std::filesystem::remove_all(folder);
    std::filesystem::create_directories(folder);
    for (const auto& [name, content] : scene.files) std::ofstream(folder / name) << content << "\n";
    std::ofstream how(folder / "how.txt");
    how << scene.saved << " " << scene.loading << "\n";
    static const char digits[] = "0123456789ABCDEF";
    for (const std::uint8_t byte : body) how << digits[byte >> 4] << digits[byte & 15] << " ";
    how << "\nSaved on the first release named, loaded on the second; then the body's bytes. Both sides said:\n"
        << text;
}

std::pair<Scene, Bits> read_case_folder(const std::filesystem::path& folder) {
    Scene scene;
    for (const auto& file : std::filesystem::directory_iterator(folder)) {
        if (file.path().extension() != ".json") continue;
        std::ifstream in(file.path());
        std::ostringstream text;
        text << in.rdbuf();
        scene.files.emplace_back(file.path().filename().string(), text.str());
    }
    std::sort(scene.files.begin(), scene.files.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
    std::ifstream how(folder / "how.txt");
    if (!(how >> scene.saved >> scene.loading)) throw std::runtime_error("no how.txt in " + folder.string());
    std::string line;
    std::getline(how, line);
    std::getline(how, line);
    std::istringstream bytes(line);
    Bits body;
    for (std::string byte; bytes >> byte;) body.push_back(static_cast<std::uint8_t>(std::stoi(byte, nullptr, 16)));
    return {scene, body};
}

}  // namespace downfit::testing::second
