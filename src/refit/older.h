// Older copies of the presets of a dump: what T needs and N no longer has.
#pragma once

#include <map>
#include <memory>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "compat/check.h"
#include "refit/body.h"

namespace downfit::refit {

struct OlderDump;

/// The older copies, loaded on the releases that saved them. The dumps must outlive it.
class OlderCopies {
public:
    OlderCopies(const schema::Device& device, const std::vector<OlderDump>& dumps, const compat::CheckOptions& options);
    ~OlderCopies();

    /// The copy with the preset's name (of several, that in its slot). Where one of the two has no name, the one in its
    /// slot; where both dumps hold one preset, that one. Another name in the same slot is another preset. Nulls where
    /// there is none of the same layout, or nothing is known of the release that saved it. Of what releases with one
    /// stamp store otherwise, nothing is known. Stays as long as this does. `single`: the preset is the only one of its
    /// dump.
    [[nodiscard]] OlderCopy copy_of(const compat::PresetCheck& preset, std::size_t layout, bool single);

    /// How many copies of such a layout each dump holds, in their order.
    [[nodiscard]] std::vector<std::size_t> offered(const std::set<std::size_t>& layouts) const;

private:
    struct Copy;
    [[nodiscard]] const compat::CompiledRelease* release(std::size_t order, std::size_t layout);
    [[nodiscard]] compat::LoadedPreset loaded(const Copy& copy, std::size_t order);
    void load(Copy& copy);
    [[nodiscard]] std::pair<Copy*, FoundBy> find(const compat::PresetCheck& preset, std::size_t layout,
                                                 bool single) const;

    const schema::Device& device_;
    const compat::CheckOptions& options_;
    std::size_t dumps_;
    std::vector<std::unique_ptr<Copy>> copies_;
    std::map<const schema::Release*, std::unique_ptr<compat::CompiledRelease>> compiled_;
};

}  // namespace downfit::refit
