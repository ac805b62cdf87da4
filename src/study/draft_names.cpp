#include "study/draft_names.h"

#include <algorithm>

namespace downfit::study {

namespace {

bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

bool is_upper(char c) {
    return c >= 'A' && c <= 'Z';
}

bool is_lower(char c) {
    return c >= 'a' && c <= 'z';
}

std::string plain_name(std::string_view name) {
    std::string plain;
    for (std::size_t i = 0; i < name.size(); ++i) {
        const char c = name[i];
        const bool word_starts = is_upper(c) && i > 0 && (is_lower(name[i - 1]) || is_digit(name[i - 1]));
        if (word_starts && !plain.empty() && plain.back() != '-') plain += '-';
        if (is_upper(c)) {
            plain += static_cast<char>(c - 'A' + 'a');
        } else if (is_lower(c) || is_digit(c)) {
            plain += c;
        } else if (!plain.empty() && plain.back() != '-') {
            plain += '-';
        }
    }
    while (plain.ends_with('-')) plain.pop_back();
    return plain.empty() ? "value" : plain;
}

/// What stands before the number or the letter at the end; the whole text where there is neither.
std::string_view stem_of(std::string_view text) {
    std::size_t end = text.size();
    while (end > 0 && is_digit(text[end - 1])) --end;
    const bool letter = end == text.size() && end > 0 && (is_upper(text.back()) || is_lower(text.back()));
    const bool alone = letter && (end == 1 || !(is_upper(text[end - 2]) || is_lower(text[end - 2])));
    return text.substr(0, alone ? end - 1 : end);
}

}  // namespace

std::string NamesInUse::take(std::string_view name) {
    const std::string plain = plain_name(name);
    std::string own = plain;
    for (int number = 2; !taken_.insert(own).second; ++number) own = plain + '-' + std::to_string(number);
    return own;
}

std::string pointer_step(std::string_view key) {
    std::string step = "/";
    for (const char c : key) step += c == '~' ? "~0" : c == '/' ? "~1" : std::string(1, c);
    return step;
}

bool has_letter(std::string_view text) {
    return std::any_of(text.begin(), text.end(), [](char c) { return is_upper(c) || is_lower(c); });
}

bool only_numbered(const std::vector<std::string>& texts) {
    return std::all_of(texts.begin(), texts.end(), [&](const std::string& text) {
        const std::string_view stem = stem_of(text);
        return stem.size() < text.size() && stem == stem_of(texts.front());
    });
}

}  // namespace downfit::study
