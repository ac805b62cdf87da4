#include "report/page.h"

#include "base/digest.h"
#include "report/escape.h"

namespace downfit::report {

namespace {

/// As Content Security Policy level 2 writes the digest of an inline style or script (4.2.5).
std::string source_of(std::string_view text) {
    const auto* bytes = reinterpret_cast<const std::uint8_t*>(text.data());
    return "'sha256-" + sha256_base64(ByteView(bytes, text.size())) + '\'';
}

/// A line break between two tags is a node of its own, thousands of them in a report on a whole library: it goes into
/// the tag before it, where it is nothing. All other ">" and "<" are escaped.
void append_body(std::string& out, std::string_view body) {
    for (std::size_t at = 0; at < body.size();) {
        const std::size_t end = body.find(">\n<", at);
        if (end == std::string_view::npos || body[end - 1] == '/') {
            const std::size_t next = end == std::string_view::npos ? body.size() : end + 2;
            out += body.substr(at, next - at);
            at = next;
            continue;
        }
        out += body.substr(at, end - at);
        out += "\n>";
        at = end + 2;
    }
}

}  // namespace

std::string html_text(std::string_view text) {
    std::string out;
    for (const char c : printable(text)) {
        switch (c) {
            case '&': out += "&amp;"; break;
            case '<': out += "&lt;"; break;
            case '>': out += "&gt;"; break;
            case '"': out += "&quot;"; break;
            case '\'': out += "&#39;"; break;
            default: out += c;
        }
    }
    return out;
}

std::string page(std::string_view title, std::string_view body) {
    std::string out =
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src ";
    out += source_of(page_style()) + "; script-src " + source_of(page_script()) +
           "; base-uri 'none'; form-action 'none'\">\n"
           "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
           "<meta name=\"referrer\" content=\"no-referrer\">\n<title>" +
           html_text(title) + "</title>\n<style>";
    out += page_style();
    out += "</style>\n</head>\n<body>\n";
    append_body(out, body);
    out += "<script>";
    out += page_script();
    out += "</script>\n</body>\n</html>\n";
    return out;
}

}  // namespace downfit::report
