#include "report/draft.h"

#include <algorithm>
#include <array>
#include <string_view>

#include "files/input.h"
#include "report/escape.h"
#include "report/json.h"
#include "study/storage_text.h"

namespace downfit::report {

namespace {

using study::DraftGroup;
using study::DraftParameter;
using study::Sort;

struct SortWords {
    std::string_view one, many;
};
constexpr std::array<SortWords, study::sort_count> sort_words{{{"switch", "switches"},
                                                               {"small choice", "small choices"},
                                                               {"number in one byte", "numbers in one byte"},
                                                               {"wider number", "wider numbers"},
                                                               {"real number", "real numbers"},
                                                               {"text", "texts"}}};

std::string json_word(const std::string& text) {
    return Json(text).dump(-1, ' ', true, Json::error_handler_t::replace);
}

std::string stamp_json(const schema::Stamp& stamp) {
    const auto* number = std::get_if<std::int64_t>(&stamp);
    return number != nullptr ? std::to_string(*number) : json_word(std::get<std::string>(stamp));
}

std::string_view head_word(schema::HeadPart::Kind kind) {
    switch (kind) {
        case schema::HeadPart::Kind::id: return "id";
        case schema::HeadPart::Kind::length: return "length";
        case schema::HeadPart::Kind::version: break;
    }
    return "version";
}

std::string_view by_word(schema::NamedBy by) {
    switch (by) {
        case schema::NamedBy::key: return "key";
        case schema::NamedBy::name_before: return "name-before";
        case schema::NamedBy::order:
        case schema::NamedBy::value: break;
    }
    return "order";
}

std::string named_group_line(const DraftGroup& group) {
    const schema::NamedPlace& place = *group.named;
    std::string text = json_word(group.path) + ": { \"path\": " + json_word(place.path);
    if (group.count > 1) text += ", \"count\": " + std::to_string(group.count);
    if (place.by == schema::NamedBy::order) return text + " }";
    const bool by_value = place.by == schema::NamedBy::value;
    text += ", \"by\": " + json_word(by_value ? place.by_path : std::string(by_word(place.by))) + ", \"keys\": [";
    for (std::size_t i = 0; i < place.keys.size(); ++i) text += (i == 0 ? "" : ", ") + json_word(place.keys[i]);
    return text + "] }";
}

std::string group_line(const DraftGroup& group) {
    if (group.named) return named_group_line(group);
    std::string text = json_word(group.path) + ": { \"tag\": " + std::to_string(group.tag);
    if (group.count > 1) text += ", \"count\": " + std::to_string(group.count);
    if (group.records) {
        text += ", \"records\": { \"head\": [";
        for (std::size_t i = 0; i < group.records->head.size(); ++i) {
            text += (i == 0 ? "\"" : ", \"") + std::string(head_word(group.records->head[i].kind)) + '"';
        }
        text += "] }";
    }
    return text + " }";
}

/// Choices and switches that stand as texts.
std::string words_text(const DraftParameter& parameter) {
    const std::vector<schema::Word>& words = parameter.words;
    if (parameter.sort == Sort::on_off)
        return R"(, "kind": "switch", "written": { "on": )" + json_word(words[0].text) +
               ", \"off\": " + json_word(words[1].text) + " }";
    bool counts = true;
    for (std::size_t i = 0; i < words.size(); ++i) counts = counts && words[i].number == static_cast<std::int64_t>(i);
    std::string text;
    for (const schema::Word& word : words) {
        text += (text.empty() ? "" : ", ") + json_word(word.text);
        if (!counts) text += ": " + std::to_string(word.number);
    }
    return R"(, "as": "text", "choices": )" + (counts ? '[' + text + ']' : "{ " + text + " }");
}

/// What the parameter may be, after its place.
std::string sort_text(const DraftParameter& parameter) {
    if (!parameter.words.empty()) return words_text(parameter);
    std::string text;
    if (parameter.sort == Sort::on_off) {
        text = R"(, "kind": "switch")";
        if (parameter.numbers.back() != 1) text += ", \"on\": " + std::to_string(parameter.numbers.back());
    } else if (parameter.sort == Sort::choice) {
        text = ", \"choices\": {";
        for (const std::int64_t number : parameter.numbers) {
            if (text.back() != '{') text += ',';
            text += " \"number " + std::to_string(number) + "\": " + std::to_string(number);
        }
        text += " }";
    } else if (parameter.sort == Sort::text) {
        if (parameter.path) text = R"(, "as": "text")";
    } else {
        text = ", \"range\": [" + Json(parameter.least).dump() + ", " + Json(parameter.most).dump() + ']';
        if (parameter.sort != Sort::real) {
            text = ", \"range\": [" + std::to_string(static_cast<std::int64_t>(parameter.least)) + ", " +
                   std::to_string(static_cast<std::int64_t>(parameter.most)) + ']';
        } else if (parameter.path) {
            text = R"(, "kind": "real")" + text;
        }
    }
    return text;
}

/// "12 numbers seen in 31 presets".
std::string seen_text(const DraftParameter& parameter) {
    const bool are_texts = parameter.sort == Sort::text || !parameter.words.empty();
    const std::string what =
        parameter.path ? counted(parameter.different, are_texts ? "text" : "number", are_texts ? "texts" : "numbers")
                       : std::to_string(parameter.different) + (are_texts ? " texts" : " numbers");
    if (parameter.path) {
        if (parameter.repeated) return what + " seen in " + counted(parameter.seen, "place", "places");
        return what + " seen in " + presets(parameter.seen);
    }
    const bool in_group = parameter.id.find('.') != std::string::npos;
    return what + " seen in " + std::to_string(parameter.seen) + (in_group ? " records" : " presets");
}

std::string parameter_line(const DraftParameter& parameter) {
    std::string text = json_word(parameter.id) + ": { ";
    if (parameter.tag) text += "\"tag\": " + std::to_string(*parameter.tag) + ", ";
    text += parameter.path ? "\"path\": " + json_word(*parameter.path) : study::storage_text(parameter.storage);
    text += sort_text(parameter);
    if (parameter.list > 0) text += ", \"list\": { \"count\": " + std::to_string(parameter.list) + " }";
    std::string note = seen_text(parameter);
    if (!parameter.remark.empty()) note += "; " + parameter.remark;
    return text + ", \"documented\": \"observed\", \"note\": " + json_word(note) + " }";
}

template <class Item, class Line>
std::string block(std::string_view key, const std::vector<Item>& items, const Line& line) {
    std::string text = "  \"" + std::string(key) + "\": {";
    for (const Item& item : items) text += (&item == items.data() ? "\n    " : ",\n    ") + line(item);
    return text + (items.empty() ? "}" : "\n  }");
}

std::string file_names(const DraftReport& report) {
    std::string names;
    for (const std::string& file : report.files) names += (names.empty() ? "" : ", ") + files::last_part(file);
    return names;
}

/// Which values differ and could not be drafted.
std::string unread_text(const std::vector<std::string>& places) {
    constexpr std::size_t most_told = 5;
    std::string text = "Left out: " + counted(places.size(), "value that differs", "values that differ") +
                       ", for no kind of parameter reads all that was seen (a number here, a word there):";
    for (std::size_t i = 0; i < std::min(places.size(), most_told); ++i)
        text += (i == 0 ? " " : ", ") + printable(places[i]);
    if (places.size() > most_told) text += ", ...";
    return text + '.';
}

}  // namespace

std::string draft_file(const DraftReport& report) {
    std::string text = "// Drafted from dumps: every range and choice is one that was seen, none is documented.\n{\n";
    text += "  \"format\": \"downfit release 1\",\n  \"device\": " + json_word(report.device) +
            ",\n  \"release\": " + json_word(report.release) + ",\n";
    if (report.stamp) text += "  \"stamp\": " + stamp_json(*report.stamp) + ",\n";
    text +=
        "  \"source\": " + json_word("drafted from " + presets(report.draft.presets) + " of " + file_names(report)) +
        ",\n";
    if (report.body_size) {
        text += "  \"layouts\": { " + json_word(report.layout) +
                ": { \"body\": { \"size\": " + std::to_string(*report.body_size) + " } } },\n";
    }
    if (!report.draft.groups.empty()) text += block("groups", report.draft.groups, group_line) + ",\n";
    return text + block("parameters", report.draft.parameters, parameter_line) + "\n}\n";
}

std::string draft_text(const DraftReport& report, const Style& style) {
    const study::Draft& draft = report.draft;
    std::string out;
    append_wrapped(out,
                   paint(printable(report.out) + ": a draft of release " + printable(report.release) + " from " +
                             presets(draft.presets),
                         Tone::strong, style),
                   style.width, 0, 2);
    append_wrapped(out,
                   std::to_string(draft.varying) + " of " + std::to_string(draft.places) +
                       (draft.by_name ? " values differ" : " bytes differ") + " between presets; they became " +
                       counted(draft.parameters.size(), "parameter", "parameters") + ':',
                   style.width, 2, 4);
    for (std::size_t sort = 0; sort < study::sort_count; ++sort) {
        const std::size_t count = draft.count(static_cast<Sort>(sort));
        std::string_view words = count == 1 ? sort_words[sort].one : sort_words[sort].many;
        if (draft.by_name && static_cast<Sort>(sort) == Sort::number)
            words = count == 1 ? "whole number" : "whole numbers";
        if (count > 0) append_line(out, "    " + right(std::to_string(count), 5) + ' ' + std::string(words));
    }
    const auto left_out = [&](std::size_t number, std::string_view why) {
        if (number > 0)
            append_wrapped(out, "Left out: " + presets(number) + ' ' + std::string(why) + '.', style.width, 2, 4);
    };
    left_out(report.other_stamps, "with another stamp");
    left_out(report.damaged, "damaged");
    left_out(report.other_layouts, "in another layout");
    if (report.body_size)
        append_wrapped(out,
                       "Bodies have " + std::to_string(*report.body_size) +
                           " bytes, not as many as the device file says; the release file says so.",
                       style.width, 2, 4);
    if (!draft.unread.empty()) append_wrapped(out, unread_text(draft.unread), style.width, 2, 4);
    if (draft.presets == 1)
        append_wrapped(out, "One preset shows nothing: give dumps with several, as different as you have.", style.width,
                       2, 4);
    append_wrapped(out,
                   "Ranges and choices are what was seen, not what is documented, and every parameter says so. " +
                       std::string(draft.by_name ? "Values" : "Bytes") + " that never differed are not in it.",
                   style.width, 2, 4);
    return out;
}

}  // namespace downfit::report
