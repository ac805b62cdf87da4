#include "cli/about.h"

#include <ostream>

#include "base/near_miss.h"
#include "cli/output.h"
#include "report/about.h"

namespace downfit::cli {

void declare_about(options::options_description_easy_init add) {
    declare_style(add);
}

Exit run_about(const Call& call) {
    const Result<Output> output = find_output(call, {});
    if (!output) return fail(call, output.problems());
    std::string word;
    for (const std::string& part : call.operands()) word += (word.empty() ? "" : " ") + part;
    if (word.empty()) return deliver(call, output.value(), report::about_all(output.value().style));
    const std::optional<std::string> text = report::about_word(word, output.value().style);
    if (text) return deliver(call, output.value(), *text);
    const std::vector<std::string_view> words = report::about_words();
    std::string remedy = did_you_mean(word, words);
    if (remedy.empty()) remedy = "downfit about lists the words";
    return fail(call, {usage_problem("the reports have no word \"" + word + '"', remedy)});
}

}  // namespace downfit::cli
