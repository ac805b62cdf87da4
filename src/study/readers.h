// Which release saved an entry, and that release's parameters, made once.
#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <optional>

#include "dump/dump.h"
#include "schema/instances.h"

namespace downfit::study {

/// Whether the entry holds a preset, not settings or an asset.
[[nodiscard]] bool holds_preset(const schema::Device& device, const dump::Entry& entry);

/// The newest release with a release file that may have saved the entry; `assumed` (order of a release) for entries
/// that carry no stamp. Nothing where no release file fits.
[[nodiscard]] std::optional<std::size_t> saving_release(const schema::Device& device, const dump::Entry& entry,
                                                        std::optional<std::size_t> assumed);

/// The parameters of a device's releases. The device must outlive it.
class Readers {
public:
    explicit Readers(const schema::Device& device) : device_(device) {}

    [[nodiscard]] const schema::Device& device() const { return device_; }
    /// Of a release with a release file, as that layout (index into Device::layouts) stores it.
    [[nodiscard]] const schema::Instances& of(std::size_t release, std::size_t layout = 0);
    /// The same, or nullptr without a release.
    [[nodiscard]] const schema::Instances* of(const std::optional<std::size_t>& release, std::size_t layout = 0);

private:
    const schema::Device& device_;
    std::map<const schema::Release*, std::unique_ptr<schema::Instances>> made_;
};

}  // namespace downfit::study
