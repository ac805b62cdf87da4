#include "report/strip.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "report/page.h"

namespace downfit::report {

namespace {

constexpr double strip_width = 240, margin = 8, upper = 13, lower = 31;

/// A length in the picture, to a tenth.
std::string place(double at) {
    return number_text(std::round(at * 10) / 10);
}

/// Both ranges and both values on one line.
struct Scale {
    double least = 0, most = 1;

    [[nodiscard]] double x(double value) const {
        return margin + (strip_width - 2 * margin) * (value - least) / (most - least);
    }
};

/// A range as a line with its ends marked.
std::string rail(const Scale& scale, const compat::Reach& reach, double y) {
    const std::string from = place(scale.x(reach.least)), to = place(scale.x(reach.most));
    const std::string up = place(y - 4), down = place(y + 4), at = place(y);
    return "<path class=\"rail\" d=\"M" + from + ' ' + up + 'V' + down + 'M' + from + ' ' + at + 'H' + to + 'M' + to +
           ' ' + up + 'V' + down + "\"/>";
}

/// Where a release has no such parameter.
std::string no_rail(double y) {
    return "<path class=\"rail gone\" d=\"M8 " + place(y) + "H232\"/>";
}

const compat::Reach* reach_of(const std::optional<compat::Shown>& side) {
    return side && side->reach ? &*side->reach : nullptr;
}

}  // namespace

std::string strip(const compat::Finding& finding) {
    const compat::Reach* n = reach_of(finding.saved);
    const compat::Reach* t = reach_of(finding.loaded);
    // Where it exists on both, a number on one alone says nothing of the other.
    if ((n == nullptr && t == nullptr) || (finding.saved && finding.loaded && (n == nullptr || t == nullptr)))
        return {};
    const compat::Reach& one = n != nullptr ? *n : *t;
    const compat::Reach& other = t != nullptr ? *t : *n;
    const Scale scale{std::min({one.least, other.least, one.value, other.value}),
                      std::max({one.most, other.most, one.value, other.value})};
    std::string out = "<svg class=\"strip\" viewBox=\"0 0 240 44\" role=\"img\" aria-label=\"saved " +
                      html_text(finding.saved ? finding.saved->value : "nothing") + ", there " +
                      html_text(finding.loaded ? finding.loaded->value : "nothing") + "\">";
    out += n != nullptr ? rail(scale, *n, upper) : no_rail(upper);
    out += t != nullptr ? rail(scale, *t, lower) : no_rail(lower);
    if (n != nullptr) out += "<path class=\"mark-saved\" d=\"M" + place(scale.x(n->value)) + " 13l-5 -9h10z\"/>";
    if (t != nullptr) out += "<path class=\"mark-loaded\" d=\"M" + place(scale.x(t->value)) + " 31l-5 9h10z\"/>";
    return out + "</svg>";
}

std::string bar(std::size_t intact, std::size_t near, std::size_t all) {
    constexpr double full = 200;
    const double one = all == 0 ? 0 : full / static_cast<double>(all);
    const std::string first = place(one * static_cast<double>(intact)), second = place(one * static_cast<double>(near));
    return "<svg class=\"bar\" viewBox=\"0 0 202 14\" preserveAspectRatio=\"none\" aria-hidden=\"true\">"
           "<rect class=\"rest\" x=\"1\" y=\"1\" width=\"200\" height=\"12\"/><rect class=\"safe\" x=\"1\" y=\"1\" "
           "width=\"" +
           first + "\" height=\"12\"/><rect class=\"slight\" x=\"" + place(1 + one * static_cast<double>(intact)) +
           "\" y=\"4\" width=\"" + second + "\" height=\"6\"/></svg>";
}

}  // namespace downfit::report
