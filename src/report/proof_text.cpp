#include <algorithm>

#include "report/escape.h"
#include "report/layout.h"
#include "report/problems.h"
#include "report/proof_report.h"

namespace downfit::report {

namespace {

constexpr std::size_t body_indent = 2;
constexpr std::size_t word_width = 9;

/// Everything of one sort that is told.
struct Sorted {
    std::vector<const Problem*> errors;
    std::vector<const schema::Flaw*> problems, marked, notes;
};

Sorted sorted(const ProofedDevice& device) {
    Sorted all;
    for (const Problem& error : device.proof.errors) {
        if (is_told(device, error.place)) all.errors.push_back(&error);
    }
    for (const schema::Flaw& flaw : device.proof.flaws) {
        if (!is_told(device, flaw.problem.place)) continue;
        const bool note = schema::row_of(flaw.fault).note;
        (flaw.marked ? all.marked : note ? all.notes : all.problems).push_back(&flaw);
    }
    return all;
}

class ProofWriter {
public:
    ProofWriter(const ProofReport& report, const Style& style) : report_(report), style_(style) {}

    std::string write() {
        for (const ProofedDevice& device : report_.devices) write(device);
        write_end();
        return std::move(out_);
    }

private:
    void write(const ProofedDevice& device) {
        const Sorted all = sorted(device);
        if (!out_.empty()) out_ += '\n';
        std::string head = printable(device.folder) + ": " + counted(device.files.size(), "file", "files") + ", " +
                           counted(device.proof.proofed, "release", "releases") + " proofed";
        if (device.proof.left_out > 0)
            head += ", " + std::to_string(device.proof.left_out) + " left out because of errors";
        append_line(out_, paint(cut(head, style_.width), Tone::strong, style_));
        std::string counts = counted(all.errors.size(), "error", "errors") + ", " +
                             counted(all.problems.size(), "problem", "problems") + ", " +
                             std::to_string(all.marked.size()) + " marked as true to the device, " +
                             counted(all.notes.size(), "note", "notes");
        append_wrapped(out_, counts, style_.width, body_indent, body_indent);
        for (const Problem* error : all.errors)
            write("ERROR", "does not load", Tone::worst, *error, schema::why_of_error(*error));
        for (const schema::Flaw* flaw : all.problems) write("PROBLEM", Tone::bad, device, *flaw);
        for (const schema::Flaw* flaw : all.marked) write("MARKED", Tone::good, device, *flaw);
        for (const schema::Flaw* flaw : all.notes) write("NOTE", Tone::faint, device, *flaw);
    }

    void write(std::string_view sort, Tone tone, const ProofedDevice& device, const schema::Flaw& flaw) {
        const schema::FaultRow& row = schema::row_of(flaw.fault);
        write(sort, row.name, tone, flaw.problem, row.why);
        if (flaw.marked) line("true:", printable(*flaw.marked));
        if (flaw.rule && device.looked_at) line("presets:", unsure_words(*flaw.rule));
        if (flaw.of_presets && device.looked_at) line("presets:", gap_words(flaw.release));
    }

    void write(std::string_view sort, std::string_view name, Tone tone, const Problem& problem, std::string_view why) {
        out_ += '\n';
        append_line(out_, paint(sort, tone, style_) + "  " + std::string(name));
        std::string place = place_text(problem.place);
        const auto* in_text = std::get_if<TextPlace>(&problem.place);
        if (in_text && !in_text->pointer.empty()) place += " at " + printable(in_text->pointer);
        if (!place.empty()) append_wrapped(out_, place, style_.width, body_indent, body_indent * 2);
        append_wrapped(out_, printable(problem.what), style_.width, body_indent, body_indent * 2);
        line("why:", why);
        if (!problem.expected.empty()) line("expected:", printable(problem.expected));
        if (!problem.remedy.empty()) line("mend:", printable(problem.remedy));
    }

    void line(std::string_view word, std::string_view text) {
        append_wrapped(out_, left(word, word_width) + ' ' + std::string(text), style_.width, body_indent,
                       body_indent + word_width + 1);
    }

    [[nodiscard]] std::string unsure_words(schema::Rule rule) const {
        const auto at = report_.unsure.find(rule);
        const std::size_t count = at == report_.unsure.end() ? 0 : at->second;
        return "leaves " + std::to_string(count) + " of " + std::to_string(report_.presets) +
               " unsure on one release or another";
    }

    [[nodiscard]] std::string gap_words(const std::string& release) const {
        for (const Unexplained& one : report_.unexplained) {
            if (one.release != release) continue;
            return std::to_string(one.varying) + " of " + counted(one.bytes, "unexplained byte", "unexplained bytes") +
                   (one.varying == 1 ? " differs" : " differ") + " between the " + presets(one.presets) + " saved on " +
                   printable(release);
        }
        return "none of the dumps was saved on " + printable(release);
    }

    void write_end() {
        const std::size_t errors = report_.errors(), problems = report_.problems();
        out_ += '\n';
        std::string end = "Clean: nothing contradicts itself.";
        if (errors > 0) {
            end = counted(errors, "error", "errors") + " to mend before anything can be judged by these files.";
        } else if (problems > 0) {
            end = counted(problems, "problem", "problems") +
                  " to mend, or to mark under \"true-to-device\" where the device really is so.";
        }
        append_wrapped(out_, end, style_.width, 0, 0);
    }

    const ProofReport& report_;
    const Style& style_;
    std::string out_;
};

}  // namespace

bool is_told(const ProofedDevice& device, const Place& place) {
    if (device.only.empty()) return true;
    const auto* in_text = std::get_if<TextPlace>(&place);
    const auto* file = std::get_if<std::string>(&place);
    if (!in_text && !file) return true;
    const std::string& name = in_text ? in_text->file : *file;
    return std::find(device.only.begin(), device.only.end(), name) != device.only.end();
}

std::size_t ProofReport::errors() const {
    std::size_t count = 0;
    for (const ProofedDevice& device : devices) count += sorted(device).errors.size();
    return count;
}

std::size_t ProofReport::problems() const {
    std::size_t count = 0;
    for (const ProofedDevice& device : devices) count += sorted(device).problems.size();
    return count;
}

std::string proof_text(const ProofReport& report, const Style& style) {
    return ProofWriter(report, style).write();
}

}  // namespace downfit::report
