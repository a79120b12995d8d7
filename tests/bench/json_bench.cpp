// How fast fhir/json reads a text and writes it back, beside bare RapidJSON doing the same in the same run.
//
//   cmake -S . -B build -G Ninja -DNIGHTFERRY_BENCH=ON && ninja -C build json_bench
//   build/tests/bench/json_bench
//
// "each" is the time for a document, "blocks" how often it asked the heap for memory. The examples come from
// the test peers (npm ci in tests/peers). "dom" is a RapidJSON Document and a Writer, "sax" a Reader straight
// into a Writer; both leave numbers as text, but check neither UTF-8 nor names given twice, as ours does.
#include <benchmark/benchmark.h>
#include <rapidjson/document.h>
#include <rapidjson/stringbuffer.h>
#include <rapidjson/writer.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace {

std::size_t heap_blocks = 0;

}  // namespace

// RapidJSON asks malloc() directly, so counting operator new would see only half; glibc lets a program put
// its own functions in front.
extern "C" {
void* __libc_malloc(std::size_t size);
void* __libc_realloc(void* block, std::size_t size);

void* malloc(std::size_t size) {
    ++heap_blocks;
    return __libc_malloc(size);
}

void* realloc(void* block, std::size_t size) {
    ++heap_blocks;
    return __libc_realloc(block, size);
}
}

namespace {

namespace fs = std::filesystem;
namespace json = nightferry::fhir::json;

using Texts = std::vector<std::string>;

constexpr char dose[] =
    R"({"resourceType":"MedicationAdministration","identifier":[{"system":"urn:example:my-home",)"
    R"("value":"urn:uuid:11111111-1111-4111-8111-111111111103"}],"status":"completed",)"
    R"("medicationCodeableConcept":{"coding":[{"system":"http://www.whocc.no/atc","code":"B01AB05"}],)"
    R"("text":"enoxaparin"},"subject":{"reference":"Patient/p1"},"effectiveDateTime":"2026-10-30T08:00:00+00:00",)"
    R"("dosage":{"text":"0.40 mL, under the skin, left side of the navel","dose":{"value":0.40,"unit":"mL",)"
    R"("system":"http://unitsofmeasure.org","code":"mL"}}})";
static_assert(sizeof dose - 1 == 519);

fs::path examples() {
    return fs::path(NIGHTFERRY_SOURCE_DIR) / "tests/peers/node_modules/hl7.fhir.r4.examples";
}

std::string text_of(const fs::path& file) {
    std::ifstream stream(file, std::ios::binary);
    std::ostringstream text;
    text << stream.rdbuf();
    return std::move(text).str();
}

Texts texts_of(const std::string& prefix) {
    Texts texts;
    for (const auto& item : fs::directory_iterator(examples())) {
        const std::string name = item.path().filename().string();
        if (name.starts_with(prefix) && name.ends_with(".json") && name != "package.json")
            texts.push_back(text_of(item.path()));
    }
    return texts;
}

json::Document ours_of(const std::string& text) {
    json::Limits limits;
    limits.bytes = 64 * 1024 * 1024;
    limits.string_bytes = 8 * 1024 * 1024;
    return json::read(text, limits).value();
}

struct Ours {
    static std::size_t through(const std::string& text) { return json::write(ours_of(text).root()).size(); }
};

struct OursReading {
    static std::size_t through(const std::string& text) { return ours_of(text).root().size(); }
};

struct Dom {
    static std::size_t through(const std::string& text) {
        rapidjson::Document document;
        document.Parse<rapidjson::kParseNumbersAsStringsFlag>(text.data(), text.size());
        rapidjson::StringBuffer buffer;
        rapidjson::Writer<rapidjson::StringBuffer> writer(buffer);
        document.Accept(writer);
        return buffer.GetSize();
    }
};

struct DomReading {
    static std::size_t through(const std::string& text) {
        rapidjson::Document document;
        document.Parse<rapidjson::kParseNumbersAsStringsFlag>(text.data(), text.size());
        return document.MemberCount();
    }
};

struct Sax {
    static std::size_t through(const std::string& text) {
        rapidjson::StringBuffer buffer;
        rapidjson::Writer<rapidjson::StringBuffer> writer(buffer);
        rapidjson::Reader reader;
        rapidjson::StringStream stream(text.c_str());
        reader.Parse<rapidjson::kParseNumbersAsStringsFlag>(stream, writer);
        return buffer.GetSize();
    }
};

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

void compare(const std::string& name, const Texts& texts) {
    const auto add = [&](const char* way, void (*runner)(benchmark::State&, const Texts&)) {
        benchmark::RegisterBenchmark((name + "/" + way).c_str(), runner, texts)->MinTime(0.5);
    };
    add("ours", run<Ours>);
    add("dom", run<Dom>);
    add("sax", run<Sax>);
    add("ours, reading only", run<OursReading>);
    add("dom, reading only", run<DomReading>);
}

}  // namespace

int main(int argc, char** argv) {
    benchmark::Initialize(&argc, argv);
    compare("dose", {dose});
    compare("observations", texts_of("Observation-"));
    compare("bundle", {text_of(examples() / "Bundle-profiles-others.json")});
    compare("all of R4", texts_of(""));
    benchmark::RunSpecifiedBenchmarks();
}
