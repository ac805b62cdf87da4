#include <algorithm>

#include "report/changes_report.h"
#include "report/closing.h"
#include "report/escape.h"

namespace downfit::report {

namespace {

constexpr std::size_t change_indent = 2, change_hang = 4, note_indent = 6;

Tone effect_tone(study::Effect effect) {
    if (effect == study::Effect::refused) return Tone::worst;
    if (study::is_silent(effect)) return Tone::bad;
    if (effect == study::Effect::nothing) return Tone::faint;
    return effect == study::Effect::unsure ? Tone::unknown : Tone::mild;
}

class ChangesWriter {
public:
    ChangesWriter(const ChangesReport& report, const Style& style) : report_(report), style_(style) {}

    std::string write() {
        const std::string older = printable(report_.release(report_.older));
        const std::string newer = printable(report_.release(report_.newer));
        std::string head = printable(report_.device->title) + ": what changed from " + older + " to " + newer + ", " +
                           counted(report_.changes.size(), "change", "changes");
        append_line(out_, paint(cut(head, style_.width), Tone::strong, style_));
        for (const std::string& words : apart_words(report_))
            append_wrapped(out_, words, style_.width, change_indent, change_indent);
        write_way(true, "GOING BACK, " + newer + " to " + older);
        write_way(false, "GOING FORWARD, " + older + " to " + newer);
        out_ += '\n';
        append_wrapped(out_, promise(), style_.width, 0, 0);
        return std::move(out_);
    }

private:
    void write_way(bool back, const std::string& heading) {
        out_ += '\n';
        append_line(out_, paint(cut(heading, style_.width), Tone::strong, style_));
        const std::string use = use_words(report_, back);
        if (!use.empty()) append_wrapped(out_, use, style_.width, change_indent, change_indent);
        if (report_.changes.empty())
            append_wrapped(out_, "Nothing changed.", style_.width, change_indent, change_indent);
        for (const EffectLines& lines : lines_of(report_, back)) write(lines);
        const std::vector<std::string> others = other_words(report_, back);
        if (others.empty()) return;
        out_ += '\n';
        append_wrapped(out_, std::string(others_title), style_.width, 0, 0);
        for (const std::string& other : others)
            append_wrapped(out_, printable(other), style_.width, change_indent, change_hang);
    }

    void write(const EffectLines& lines) {
        out_ += '\n';
        std::string heading = paint(study::effect_name(lines.effect), effect_tone(lines.effect), style_) + ": " +
                              std::string(study::effect_title(lines.effect));
        if (study::is_silent(lines.effect)) heading += " (the unit shows nothing wrong)";
        append_line(out_, heading);
        for (const ChangeLine& line : lines.lines) {
            std::string what = printable(line.what);
            if (!line.releases.empty()) what += "  [" + printable(line.releases) + ']';
            append_wrapped(out_, what, style_.width, change_indent, change_hang);
            if (!line.words.empty())
                append_wrapped(out_, printable(line.words), style_.width, note_indent, note_indent);
            for (const std::string& note : line.notes)
                append_wrapped(out_, printable(note), style_.width, note_indent, note_indent);
            if (!line.presets.empty() && lines.effect != study::Effect::nothing)
                append_wrapped(out_, line.presets, style_.width, note_indent, note_indent);
        }
    }

    const ChangesReport& report_;
    const Style& style_;
    std::string out_;
};

}  // namespace

std::string changes_text(const ChangesReport& report, const Style& style) {
    return ChangesWriter(report, style).write();
}

}  // namespace downfit::report
