#include "dump/doubtful.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "base/text.h"
#include "dump/fields.h"
#include "dump/value_text.h"

namespace downfit::dump {

namespace {

bool is_whole_number(const schema::Parameter& parameter) {
    const bool number = parameter.kind == schema::Kind::whole || parameter.kind == schema::Kind::real;
    const schema::Coding coding = parameter.storage.coding;
    return number && coding != schema::Coding::text && coding != schema::Coding::float32 &&
           coding != schema::Coding::float64;
}

/// What the place can hold, as values: "-60..12 dB".
std::string reach_text(const schema::Parameter& parameter) {
    const schema::Scale& scale = parameter.plain.scale;
    const double a = scale.value_of(static_cast<double>(least_stored(parameter.storage)));
    const double b = scale.value_of(static_cast<double>(most_stored(parameter.storage)));
    return number_text(std::min(a, b)) + ".." + number_text(std::max(a, b)) +
           std::string(unit_suffix(parameter.plain.unit));
}

bool fits(const schema::Parameter& parameter, double value) {
    const double stored = std::round(parameter.plain.scale.stored_of(value));
    return !(stored < static_cast<double>(least_stored(parameter.storage)) ||
             stored > static_cast<double>(most_stored(parameter.storage)));
}

/// Tells each doubtful setting once.
class Teller {
public:
    Problems take() { return std::move(problems_); }

    void look_at(const schema::Release& release, const schema::Parameter& parameter) {
        if (!is_whole_number(parameter)) return;
        const schema::Meaning& meaning = parameter.plain;
        if (meaning.range && !(fits(parameter, meaning.range->least) && fits(parameter, meaning.range->most))) {
            tell(release, parameter, "range",
                 number_text(meaning.range->least) + ".." + number_text(meaning.range->most));
        }
        const auto* value = meaning.preset_default ? std::get_if<double>(&*meaning.preset_default) : nullptr;
        if (value != nullptr && !fits(parameter, *value)) tell(release, parameter, "default", number_text(*value));
    }

private:
    void tell(const schema::Release& release, const schema::Parameter& parameter, const std::string& key,
              const std::string& value) {
        const std::string what = key + ' ' + value + " of " + parameter.id +
                                 " lies beyond what its place can hold: " + reach_text(parameter);
        if (!told_.insert(what).second) return;
        problems_.push_back({TextPlace{release.file, 0, 0, "/parameters/" + parameter.id + '/' + key},
                             "warning: " + what,
                             "a value, not a stored number",
                             {}});
    }

    std::set<std::string> told_;
    Problems problems_;
};

}  // namespace

Problems doubtful_settings(const schema::Device& device) {
    Teller teller;
    for (const schema::ReleaseEntry& entry : device.releases) {
        if (!entry.schema) continue;
        for (const schema::Parameter& parameter : entry.schema->parameters) teller.look_at(*entry.schema, parameter);
    }
    return teller.take();
}

}  // namespace downfit::dump
