#include "report/check_text.h"

#include <utility>

#include "report/closing.h"
#include "report/detail.h"
#include "report/summary.h"
#include "report/table.h"
#include "report/tonight.h"

namespace downfit::report {

namespace {

/// All but the summary, which `out` has.
std::string with_rest(std::string out, const CheckReport& report, Extent extent, const Style& style) {
    if (extent == Extent::summary) {
        append_promise(out, style);
        return out;
    }
    append_tonight_text(out, report, style);
    if (report.targets.size() == 1) {
        append_table(out, report, style);
    } else {
        append_matrix(out, report, style);
    }
    if (extent == Extent::details) append_details(out, report, style);
    append_closing(out, report, style);
    return out;
}

}  // namespace

std::string check_text(const CheckReport& report, Extent extent, const Style& style) {
    std::string out;
    append_summary(out, report, style);
    return with_rest(std::move(out), report, extent, style);
}

std::string check_text(const CheckReport& report, Extent extent, const Style& style, const std::string& next) {
    std::string out;
    append_results(out, report, style);
    if (!next.empty()) append_line(out, "Next: " + next);  // on one line: it is there to be copied
    return with_rest(std::move(out), report, extent, style);
}

}  // namespace downfit::report
