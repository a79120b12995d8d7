// What the benches share: inputs, and a count of what is asked of the heap. Include it once per program,
// since it puts its own malloc() in front of glibc's: RapidJSON asks malloc() directly, so counting operator
// new would see only half.
#pragma once

#include <benchmark/benchmark.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

namespace nightferry::bench {

inline std::size_t heap_blocks = 0;

}  // namespace nightferry::bench

extern "C" {
void* __libc_malloc(std::size_t size);
void* __libc_realloc(void* block, std::size_t size);

void* malloc(std::size_t size) {
    ++nightferry::bench::heap_blocks;
    return __libc_malloc(size);
}

void* realloc(void* block, std::size_t size) {
    ++nightferry::bench::heap_blocks;
    return __libc_realloc(block, size);
}
}

namespace nightferry::bench {

using Texts = std::vector<std::string>;

// Like those the daemon sends, without the labels.
inline constexpr char dose[] =
    R"({"resourceType":"MedicationAdministration","identifier":[{"system":"urn:example:my-home",)"
    R"("value":"urn:uuid:11111111-1111-4111-8111-111111111103"}],"status":"completed",)"
    R"("medicationCodeableConcept":{"coding":[{"system":"http://www.whocc.no/atc","code":"B01AB05"}],)"
    R"("text":"enoxaparin"},"subject":{"reference":"Patient/p1"},"effectiveDateTime":"2026-10-30T08:00:00+00:00",)"
    R"("dosage":{"text":"0.40 mL, under the skin, left side of the navel","dose":{"value":0.40,"unit":"mL",)"
    R"("system":"http://unitsofmeasure.org","code":"mL"}}})";
static_assert(sizeof dose - 1 == 519);

inline std::filesystem::path examples() {
    return std::filesystem::path(NIGHTFERRY_SOURCE_DIR) / "tests/peers/node_modules/hl7.fhir.r4.examples";
}

inline std::string text_of(const std::filesystem::path& file) {
    std::ifstream stream(file, std::ios::binary);
    std::ostringstream text;
    text << stream.rdbuf();
    return std::move(text).str();
}

// Of the published R4 examples whose file names begin so.
inline Texts texts_of(const std::string& prefix) {
    Texts texts;
    for (const auto& item : std::filesystem::directory_iterator(examples())) {
        const std::string name = item.path().filename().string();
        if (name.starts_with(prefix) && name.ends_with(".json") && name != "package.json")
            texts.push_back(text_of(item.path()));
    }
    return texts;
}

// Times `Way::through(text)` for all texts in turn. "each" is the time for one, "blocks" how often it asked
// the heap for memory.
template <class Way>
void run(benchmark::State& state, const Texts& texts) {
    std::size_t bytes = 0;
    for (const std::string& text : texts)
        bytes += text.size();
    const std::size_t blocks_before = heap_blocks;
    for (auto _ : state) {
        for (const std::string& text : texts)
            benchmark::DoNotOptimize(Way::through(text));
    }
    const auto documents = static_cast<std::int64_t>(texts.size()) * state.iterations();
    state.SetBytesProcessed(static_cast<std::int64_t>(bytes) * state.iterations());
    state.counters["each"] = benchmark::Counter(static_cast<double>(documents),
                                                benchmark::Counter::kIsRate | benchmark::Counter::kInvert);
    state.counters["blocks"] =
        static_cast<double>(heap_blocks - blocks_before) / static_cast<double>(documents);
}

}  // namespace nightferry::bench
