// Every byte of every image changed: never a crash, nothing wrong passed off as whole, damage only where it is.
#include <algorithm>
#include <map>

#include "dump/image_devices.h"
#include "dump/show_problem.h"
#include "dump/small_devices.h"
#include "support/catch.h"
#include "support/property.h"

namespace downfit {

namespace {

using dump::Dump;
using dump::Entry;
using dump::SlotState;
using testing::covers;
using testing::ImageSample;

/// What must hold whatever the bytes are.
void check_any(const Dump& dump, const Bytes& bytes) {
    REQUIRE(covers(dump, bytes.size()));
    for (const Entry& entry : dump.entries) {
        REQUIRE(entry.damage.empty() == (entry.state != SlotState::damaged));
        REQUIRE(dump::origins(dump, entry, bytes).size() == entry.body.size());
    }
    const auto written = dump::write(dump, bytes);
    REQUIRE(written.ok());
    REQUIRE(written.value() == bytes);
}

void sweep(const ImageSample& sample) {
    const Dump clean = testing::read_sample(sample, sample.bytes);
    for (std::size_t at = 0; at < sample.bytes.size(); ++at) {
        const std::set<int> spoilt = sample.may_spoil(at);
        for (unsigned value = 0; value < 256; ++value) {
            if (value == sample.bytes[at]) continue;
            Bytes changed = sample.bytes;
            changed[at] = static_cast<std::uint8_t>(value);
            CAPTURE(sample.name, at, value);
            const auto result = dump::read("image.syx", changed, sample.device, sample.layout);
            if (!result) continue;
            const Dump& dump = result.value();
            check_any(dump, changed);
            for (const Entry& entry : clean.entries) {
                std::size_t whole = 0;
                for (const Entry& now : dump.entries) {
                    if (now.slot != entry.slot || now.state == SlotState::damaged) continue;
                    ++whole;
                    if (sample.checked) REQUIRE(now.body == entry.body);
                }
                CAPTURE(entry.slot, dump.problems, dump.entries.front().damage, dump.entries.back().damage);
                REQUIRE((whole == 1 || spoilt.contains(entry.slot)));
            }
        }
    }
}

}  // namespace

TEST_CASE("clean images are read whole and written back byte by byte", "[dump]") {
    for (const ImageSample& sample : testing::image_samples()) {
        CAPTURE(sample.name);
        CHECK(dump::recognise(sample.bytes, {&sample.device}, sample.layout) == &sample.device);
        const Dump dump = testing::read_sample(sample, sample.bytes);
        CHECK(dump.problems == Problems{});
        for (const Entry& entry : dump.entries) {
            CHECK(entry.damage == Problems{});
            CHECK(entry.state == SlotState::filled);
        }
        check_any(dump, sample.bytes);
    }
}

TEST_CASE("changing any one byte of an image damages what shares it and no more", "[dump]") {
    for (const ImageSample& sample : testing::image_samples()) sweep(sample);
}

TEST_CASE("an image that is cut off anywhere fills no slot with anything else", "[dump]") {
    for (const ImageSample& sample : testing::image_samples()) {
        if (!sample.checked) continue;
        const Dump clean = testing::read_sample(sample, sample.bytes);
        for (std::size_t size = 0; size < sample.bytes.size(); ++size) {
            const Bytes cut(sample.bytes.begin(), sample.bytes.begin() + static_cast<std::ptrdiff_t>(size));
            CAPTURE(sample.name, size);
            const auto result = dump::read("image.syx", cut, sample.device, sample.layout);
            if (!result) continue;
            check_any(result.value(), cut);
            for (const Entry& entry : result.value().entries) {
                if (entry.state == SlotState::damaged) continue;
                REQUIRE(testing::entry_of(clean, entry.slot)->body == entry.body);
            }
        }
    }
}

TEST_CASE("an image with any run of bytes left out fills no slot with anything else", "[dump]") {
    for (const ImageSample& sample : testing::image_samples()) {
        // What loses bytes and keeps its sum is told by its length, where there is an image of known length.
        if (!sample.checked || sample.device.framings.front().raw || sample.name == "header") continue;
        const Dump clean = testing::read_sample(sample, sample.bytes);
        for (std::size_t from = 0; from < sample.bytes.size(); ++from) {
            for (std::size_t to = from + 2; to <= sample.bytes.size(); to += 5) {
                Bytes cut = sample.bytes;
                cut.erase(cut.begin() + static_cast<std::ptrdiff_t>(from),
                          cut.begin() + static_cast<std::ptrdiff_t>(to));
                CAPTURE(sample.name, from, to);
                const auto result = dump::read("image.syx", cut, sample.device, sample.layout);
                if (!result) continue;
                check_any(result.value(), cut);
                std::size_t wrong = 0;
                for (const Entry& entry : result.value().entries) {
                    const Entry* was = testing::entry_of(clean, entry.slot);
                    if (entry.state != SlotState::damaged && (!was || was->body != entry.body)) ++wrong;
                }
                REQUIRE(wrong == 0);
            }
        }
    }
}

TEST_CASE("a changed preset of an image is written and read again", "[dump]") {
    for (const ImageSample& sample : testing::image_samples()) {
        testing::holds(sample.name, [&] {
            Dump dump = testing::read_sample(sample, sample.bytes);
            Entry& entry = dump.entries[*rc::gen::inRange<std::size_t>(0, dump.entries.size())];
            const auto at = *rc::gen::inRange<std::size_t>(0, entry.body.size());
            const bool seven_bits = sample.name == "header";
            entry.body[at] = static_cast<std::uint8_t>(*rc::gen::inRange(0, seven_bits ? 128 : 256));
            const auto written = dump::write(dump, sample.bytes);
            if (!written) {
                RC_ASSERT(sample.name == "shared blocks");
                RC_DISCARD("another preset shares that byte");
            }
            const auto again = dump::read("image.syx", written.value(), sample.device, sample.layout);
            RC_ASSERT(again.ok());
            const bool own_check = sample.name == "raw file" && at == 7;
            for (const Entry& was : dump.entries) {
                const Entry* now = testing::entry_of(again.value(), was.slot);
                RC_ASSERT(now->damage.empty());
                if (sample.name != "raw file") RC_ASSERT(now->body == was.body);
                if (!own_check) RC_ASSERT(now->body[at] == was.body[at]);
            }
            RC_ASSERT(dump::write(again.value(), written.value()).value() == written.value());
        });
    }
}

TEST_CASE("random changes of images do no harm", "[dump]") {
    for (const ImageSample& sample : testing::image_samples()) {
        testing::holds(sample.name, [&] {
            Bytes bytes = sample.bytes;
            const auto count = *rc::gen::inRange(1, 6);
            for (int i = 0; i < count; ++i) {
                const auto at = *rc::gen::inRange<std::size_t>(0, bytes.size());
                bytes[at] = *rc::gen::arbitrary<std::uint8_t>();
                const auto from = *rc::gen::inRange<std::size_t>(0, bytes.size());
                if (*rc::gen::inRange(0, 3) == 0)
                    bytes.insert(bytes.end(), bytes.begin(), bytes.begin() + static_cast<std::ptrdiff_t>(from));
            }
            const auto result = dump::read("image.syx", bytes, sample.device, sample.layout);
            if (result) check_any(result.value(), bytes);
        });
    }
}

}  // namespace downfit
