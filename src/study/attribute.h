// Which changes a finding comes from. For the sources of study/ only.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "compat/check.h"
#include "schema/device.h"
#include "study/change.h"

namespace downfit::study {

/// Puts findings of presets saved on one release and loaded on another down to the changes between the two. Refers to
/// the device and the changes, which must outlive it.
class Attribution {
public:
    /// `changes` are those between the two releases, whichever is the newer.
    Attribution(const schema::Device& device, std::size_t saved, std::size_t loading,
                const std::vector<Change>& changes);

    /// Indices of the changes that finding number `finding` comes from, rising; none where it comes from no change.
    [[nodiscard]] std::vector<std::size_t> of(const compat::TargetCheck& check, std::size_t finding) const;

private:
    [[nodiscard]] std::vector<std::size_t> of(const compat::TargetCheck& check, std::size_t finding, int depth) const;
    [[nodiscard]] std::vector<std::size_t> of_parameter(const compat::Finding& finding, const std::string& id) const;
    [[nodiscard]] std::vector<std::size_t> of_anything(const compat::Finding& finding) const;
    [[nodiscard]] std::vector<std::size_t> of_conditions(const std::string& meaning,
                                                         const compat::TargetCheck& check) const;
    [[nodiscard]] bool is_counted_otherwise(const Change& range, const std::string& id,
                                            const compat::TargetCheck& check) const;
    [[nodiscard]] std::vector<std::size_t> of_group(const std::string& id) const;
    [[nodiscard]] bool fits(const Change& change, const compat::Finding& finding, const std::string& id) const;
    [[nodiscard]] bool fits_outcome(const Change& change, compat::Outcome outcome) const;
    [[nodiscard]] bool has_effect(const Change& change) const;
    [[nodiscard]] bool comes_or_goes(const Change& change) const;
    [[nodiscard]] const schema::Parameter* parameter(const std::string& id, bool saved_side) const;

    const schema::Release& saved_;
    const schema::Release& loading_;
    bool back_;
    const std::vector<Change>& changes_;
    std::map<std::string, std::vector<std::size_t>> by_meaning_;
};

}  // namespace downfit::study
