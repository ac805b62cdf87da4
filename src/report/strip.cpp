#include "report/strip.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "report/page.h"

namespace downfit::report {

namespace {

constexpr double width = 240, margin = 8, upper = 13, lower = 31;

/// A length in the picture, to a tenth.
std::string place(double at) {
    return number_text(std::round(at * 10) / 10);
}

/// Both ranges and both values on one line.
struct Scale {
    double least = 0, most = 1;

    [[nodiscard]] double x(double value) const {
        return margin + (width - 2 * margin) * (value - least) / (most - least);
    }
};

/// A range as a line with its ends marked.
std::string rail(const Scale& scale, const compat::Reach& reach, double y) {
    const std::string from = place(scale.x(reach.least)), to = place(scale.x(reach.most));
    const std::string up = place(y - 4), down = place(y + 4), at = place(y);
    return "<path class=\"rail\" d=\"M" + from + ' ' + up + 'V' + down + 'M' + from + ' ' + at + 'H' + to + 'M' + to +
           ' ' + up + 'V' + down + "\"/>";
}

}  // namespace

std::string strip(const compat::Finding& finding) {
    if (!finding.saved || !finding.loaded || !finding.saved->reach || !finding.loaded->reach) return {};
    const compat::Reach& n = *finding.saved->reach;
    const compat::Reach& t = *finding.loaded->reach;
    const Scale scale{std::min({n.least, t.least, n.value, t.value}), std::max({n.most, t.most, n.value, t.value})};
    const std::string saved = place(scale.x(n.value)), loaded = place(scale.x(t.value));
    std::string out = "<svg class=\"strip\" viewBox=\"0 0 240 44\" role=\"img\" aria-label=\"saved " +
                      html_text(finding.saved->value) + ", there " + html_text(finding.loaded->value) + "\">";
    out += rail(scale, n, upper) + rail(scale, t, lower);
    out += "<path class=\"mark-saved\" d=\"M" + saved + " 13l-5 -9h10z\"/>";
    out += "<path class=\"mark-loaded\" d=\"M" + loaded + " 31l-5 9h10z\"/>";
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
