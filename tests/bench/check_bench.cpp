// How fast resources are read and held against the published definitions.
//
//   cmake -S . -B build -G Ninja -DNIGHTFERRY_BENCH=ON && ninja -C build check_bench
//   build/tests/bench/check_bench
//
// tests/bench/validators.mjs runs it beside validators by others, on the same resources.
#include "fhir/check/validator.hpp"
#include "fhir/json/reader.hpp"
#include "tests/bench/bench.hpp"

namespace {

using namespace nightferry::bench;
using namespace nightferry::fhir;

check::Report checked(const json::Value& resource) {
    check::Options errors_only;
    errors_only.warnings = false;
    return check::validate(resource, spec::Release::r4, errors_only);
}

struct ReadAndCheck {
    static std::size_t through(const std::string& text) {
        const json::Document document = json::read(text).value();
        return checked(document.root()).issues.size();
    }
};

struct ReadOnly {
    static std::size_t through(const std::string& text) { return json::read(text).value().root().size(); }
};

void measure(const std::string& name, const Texts& texts) {
    benchmark::RegisterBenchmark((name + "/read and check").c_str(), run<ReadAndCheck>, texts)->MinTime(0.5);
    benchmark::RegisterBenchmark((name + "/read").c_str(), run<ReadOnly>, texts)->MinTime(0.5);
}

// Fifty doses as they travel.
std::string transaction() {
    std::string entries;
    for (int i = 0; i < 50; ++i) {
        entries += entries.empty() ? "" : ",";
        entries += R"({"fullUrl":"urn:uuid:11111111-1111-4111-8111-)" + std::to_string(100'000'000'000 + i) +
                   R"(","resource":)" + dose +
                   R"(,"request":{"method":"POST","url":"MedicationAdministration"}})";
    }
    return R"({"resourceType":"Bundle","type":"transaction","entry":[)" + entries + "]}";
}

}  // namespace

int main(int argc, char** argv) {
    benchmark::Initialize(&argc, argv);
    measure("dose", {dose});
    measure("transaction", {transaction()});
    for (const char* type :
         {"MedicationAdministration", "Observation", "MedicationRequest", "Provenance", "Device"})
        measure(type, texts_of(std::string(type) + "-"));
    benchmark::RunSpecifiedBenchmarks();
}
