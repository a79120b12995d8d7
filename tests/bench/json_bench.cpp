// How fast fhir/json reads a text and writes it back, beside bare RapidJSON doing the same in the same run.
//
//   cmake -S . -B build -G Ninja -DNIGHTFERRY_BENCH=ON && ninja -C build json_bench
//   build/tests/bench/json_bench
//
// "each" is the time for a document, "blocks" how often it asked the heap for memory. The examples come from
// the test peers (npm ci in tests/peers). "dom" is a RapidJSON Document and a Writer, "sax" a Reader straight
// into a Writer; both leave numbers as text, but check neither UTF-8 nor names given twice, as ours does.
#include <rapidjson/document.h>
#include <rapidjson/stringbuffer.h>
#include <rapidjson/writer.h>

#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"
#include "tests/bench/bench.hpp"

namespace {

using namespace nightferry::bench;
namespace json = nightferry::fhir::json;

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
