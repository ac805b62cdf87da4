#include "schema/rig.h"

#include <algorithm>

#include "base/near_miss.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

/// Reports a name that is none of those that there are.
void report_unknown(Problems& problems, const TextPlace& place, const std::string& what,
                    const std::vector<std::string>& names, const std::string& name) {
    const std::vector<std::string_view> views(names.begin(), names.end());
    report(problems, place, what, names.empty() ? std::string() : one_of(views), did_you_mean(name, views));
}

std::vector<std::string> variants_of(const Device& device) {
    std::vector<std::string> names;
    for (const ReleaseEntry& release : device.releases) {
        if (!release.schema) continue;
        for (const Variant& variant : release.schema->variants) {
            if (std::ranges::find(names, variant.name) == names.end()) names.push_back(variant.name);
        }
    }
    return names;
}

void check_unit(const RigUnit& unit, const Device& device, Problems& problems) {
    const auto release = device.find_release(unit.release);
    check_release_named(unit.release, unit.release_place, device, problems);
    if (release && !device.releases[*release].schema)
        report(problems, unit.release_place, "there is no release file for " + device.name + ' ' + unit.release,
               "a release with one");
    const std::vector<std::string> variants = variants_of(device);
    if (!unit.variant.empty() && std::ranges::find(variants, unit.variant) == variants.end())
        report_unknown(problems, unit.variant_place, device.name + " has no variant " + quoted(unit.variant), variants,
                       unit.variant);
    if (!release || unit.variant.empty() || !device.releases[*release].schema) return;
    for (const Variant& variant : device.releases[*release].schema->variants) {
        if (variant.name != unit.variant || variant.oldest_release.empty()) continue;
        const auto oldest = device.find_release(variant.oldest_release);
        if (oldest && *release < *oldest)
            report(problems, unit.release_place,
                   "the hardware of " + variant.name + " takes no release before " + variant.oldest_release,
                   "the release that the unit runs");
    }
}

}  // namespace

std::optional<std::size_t> Rig::owner(std::size_t dump) const {
    for (std::size_t unit = 0; unit < units.size(); ++unit) {
        const auto& read_out = units[unit].dumps;
        if (std::ranges::find(read_out, dump) != read_out.end()) return unit;
    }
    return std::nullopt;
}

const Device* device_of(const RigUnit& unit, const std::vector<const Device*>& devices) {
    const auto at = std::ranges::find(devices, unit.device, [](const Device* device) { return device->name; });
    return at == devices.end() ? nullptr : *at;
}

void check_release_named(const std::string& name, const TextPlace& place, const Device& device, Problems& problems) {
    if (device.find_release(name)) return;
    std::vector<std::string> names;
    for (const ReleaseEntry& release : device.releases) names.push_back(release.name);
    report_unknown(problems, place, device.name + " has no release " + quoted(name), names, name);
}

Problems check_rig(const Rig& rig, const std::vector<const Device*>& devices) {
    Problems problems;
    std::vector<std::string> names;
    for (const Device* device : devices) names.push_back(device->name);
    for (const RigUnit& unit : rig.units) {
        const Device* device = device_of(unit, devices);
        if (device == nullptr) {
            report_unknown(problems, unit.device_place, "no device is called " + quoted(unit.device), names,
                           unit.device);
        } else {
            check_unit(unit, *device, problems);
        }
    }
    return problems;
}

}  // namespace downfit::schema
