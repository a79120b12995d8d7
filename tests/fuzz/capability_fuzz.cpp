// Whatever a server says of itself is read without harm, and so are the other resources that are read.
#include <cstdint>
#include <string_view>

#include "fhir/json/reader.hpp"
#include "fhir/resource/capability_statement.hpp"
#include "fhir/resource/medication_request.hpp"
#include "fhir/resource/person.hpp"
#include "tests/fuzz/require.hpp"

namespace {

using namespace nightferry::fhir;
using nightferry::test::require;

void check_statement(const resource::CapabilityStatement& statement) {
    require(!statement.release || spec::release_of_version(statement.fhir_version) == statement.release,
            "the release is that of the version");
    for (const auto& type : statement.types) {
        require(!type.name.empty(), "a type has a name");
        require(statement.type(type.name) != nullptr, "a type is found by its name");
        for (const std::string& interaction : type.interactions)
            require(type.can(interaction), "it can do what it lists");
        for (const auto& parameter : type.search_parameters)
            require(type.can_search_by(parameter.name), "it can search by what it lists");
    }
    for (const std::string& interaction : statement.interactions)
        require(statement.can(interaction), "the system can do what it lists");
    (void)statement.speaks_json();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const auto document = json::read({reinterpret_cast<const char*>(data), size});
    if (!document) return 0;
    if (const auto statement = resource::read_capability_statement(document->root()))
        check_statement(*statement);
    (void)resource::read_medication_request(document->root());
    (void)resource::read_person(document->root());
    return 0;
}
