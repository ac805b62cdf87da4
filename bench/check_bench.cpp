// What does the main job cost, stage by stage? The demo's bank of 124 presets: framing, unpacking, decoding to
// parameter trees, loading on paper, judging a pair of releases, and the whole check. The whole check is also reported
// as a ratio to framing and unpacking alone, both measured in the same run.
#include <benchmark/benchmark.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>
#include <stdexcept>

#include "compat/check.h"
#include "compat/explore.h"
#include "dump/dump.h"
#include "dump/tree.h"
#include "midi/packing.h"
#include "midi/sysex.h"
#include "schema/load.h"

namespace downfit {
namespace {

Bytes file_bytes(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    if (!file) throw std::runtime_error("cannot read " + path.string());
    return {std::istreambuf_iterator<char>(file), {}};
}

/// The demo, loaded once.
struct Demo {
    Bytes bytes;
    schema::Device device;
    dump::Dump dump;
    std::size_t newest = 0;

    Demo()
        : bytes(file_bytes(std::filesystem::path(DOWNFIT_PROJECT_FOLDER) / "demo/dumps/bank-a.syx")), device(load()) {
        dump = dump::read("bank-a.syx", bytes, device).value();
        newest = device.releases.size() - 1;
    }

    static schema::Device load() {
        std::set<std::filesystem::path> paths;
        for (const auto& entry :
             std::filesystem::directory_iterator(std::filesystem::path(DOWNFIT_PROJECT_FOLDER) / "schemas/dunlin-6")) {
            paths.insert(entry.path());
        }
        std::vector<schema::SourceFile> files;
        for (const auto& path : paths) {
            const Bytes text = file_bytes(path);
            files.push_back({path.filename().string(), std::string(text.begin(), text.end())});
        }
        return schema::load_device(files).value();
    }
};

const Demo& demo() {
    static const Demo loaded;
    return loaded;
}

void count(benchmark::State& state) {
    state.SetBytesProcessed(state.iterations() * static_cast<std::int64_t>(demo().bytes.size()));
    state.counters["presets/s"] =
        benchmark::Counter(static_cast<double>(state.iterations()) * static_cast<double>(demo().dump.entries.size()),
                           benchmark::Counter::kIsRate);
}

void framing(benchmark::State& state) {
    for (auto _ : state) benchmark::DoNotOptimize(midi::read_sysex(demo().bytes));
    count(state);
}
BENCHMARK(framing)->Unit(benchmark::kMillisecond);

/// Framing, then undoing the packing of every part: what any reader of these dumps has to do first.
void frame_and_unpack() {
    constexpr std::size_t head = 6;
    for (const midi::Item& item : midi::read_sysex(demo().bytes)) {
        if (item.kind != midi::ItemKind::message || item.content.size() < head + 2 || item.content[3] != 0x21) continue;
        const ByteView data = ByteView(item.content).subspan(head + 1, item.content.size() - head - 2);
        benchmark::DoNotOptimize(midi::decode(midi::SevenBit{midi::SevenBit::Order::first_high}, data));
    }
}

void framing_and_unpacking(benchmark::State& state) {
    for (auto _ : state) frame_and_unpack();
    count(state);
}
BENCHMARK(framing_and_unpacking)->Unit(benchmark::kMillisecond);

void reading_the_dump(benchmark::State& state) {
    for (auto _ : state) benchmark::DoNotOptimize(dump::read("bank-a.syx", demo().bytes, demo().device));
    count(state);
}
BENCHMARK(reading_the_dump)->Unit(benchmark::kMillisecond);

void decoding_trees(benchmark::State& state) {
    const schema::Instances instances(*demo().device.releases[demo().newest].schema);
    for (auto _ : state) {
        for (const dump::Entry& entry : demo().dump.entries) {
            benchmark::DoNotOptimize(dump::decode_tree(instances, entry.body, demo().newest, &demo().device));
        }
    }
    count(state);
}
BENCHMARK(decoding_trees)->Unit(benchmark::kMillisecond);

void loading_on_paper(benchmark::State& state) {
    const compat::CompiledRelease release(demo().device, *demo().device.releases[demo().newest].schema);
    for (auto _ : state) {
        for (const dump::Entry& entry : demo().dump.entries) {
            benchmark::DoNotOptimize(compat::load(release, {entry.body, entry.layout, demo().newest, 1, {}}, {}));
        }
    }
    count(state);
}
BENCHMARK(loading_on_paper)->Unit(benchmark::kMillisecond);

void loading_and_judging_a_pair(benchmark::State& state) {
    const schema::Device& device = demo().device;
    const compat::CompiledRelease saved(device, *device.releases[demo().newest].schema);
    const compat::CompiledRelease loading(device, *device.releases[demo().newest - 3].schema);
    const compat::ReleasePair pair(saved, loading, device);
    for (auto _ : state) {
        for (const dump::Entry& entry : demo().dump.entries) {
            benchmark::DoNotOptimize(
                compat::explore(pair, {entry.body, entry.layout, demo().newest, 1, {}}, {}, {}, {}));
        }
    }
    count(state);
}
BENCHMARK(loading_and_judging_a_pair)->Unit(benchmark::kMillisecond);

/// From bytes to findings on one older release, schemas compiled.
void whole_check(compat::Checker& checker) {
    const auto dump = dump::read("bank-a.syx", demo().bytes, demo().device);
    benchmark::DoNotOptimize(compat::check_dump(checker, dump.value(), demo().bytes));
}

void whole_check_on_one_release(benchmark::State& state) {
    compat::CheckOptions options;
    options.targets = {demo().newest - 3};
    compat::Checker checker(demo().device, options);
    using clock = std::chrono::steady_clock;
    clock::duration whole{}, alone{};
    for (auto _ : state) {
        const auto start = clock::now();
        whole_check(checker);
        whole += clock::now() - start;
        state.PauseTiming();
        const auto again = clock::now();
        frame_and_unpack();
        alone += clock::now() - again;
        state.ResumeTiming();
    }
    count(state);
    state.counters["times framing+unpacking"] = static_cast<double>(whole.count()) / static_cast<double>(alone.count());
}
BENCHMARK(whole_check_on_one_release)->Unit(benchmark::kMillisecond);

void loading_the_schemas(benchmark::State& state) {
    for (auto _ : state) benchmark::DoNotOptimize(Demo::load());
}
BENCHMARK(loading_the_schemas)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace downfit
