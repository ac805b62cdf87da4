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
    out += body;
    out += "<script>";
    out += page_script();
    out += "</script>\n</body>\n</html>\n";
    return out;
}

}  // namespace downfit::report
