// What the builders write, held against the published StructureDefinitions of each release (npm
// hl7.fhir.r4.examples 4.0.1, hl7.fhir.r4b.examples 4.3.0, hl7.fhir.r5.examples 5.0.0): every element exists
// there, is a list exactly where it may repeat, and none that is required is missing.
#include <gtest/gtest.h>

#include "fhir/resource/read_datatypes.hpp"
#include "tests/fhir/resource/samples.hpp"
#include "tests/support/published.hpp"

namespace nightferry::fhir::resource {
namespace {

using spec::Release;

struct Element {
    bool required = false;
    bool repeats = false;
    std::vector<std::string> types;
};

class Definitions {
 public:
    explicit Definitions(Release release) : release_(release) {}

    void expect_valid(const json::Value& value, const std::string& type) { walk(value, type, type); }

 private:
    using Elements = std::map<std::string, Element>;

    const Elements& elements_of(const std::string& type) {
        const auto known = types_.find(type);
        if (known != types_.end()) return known->second;
        const json::Document definition = test::published(release_, "StructureDefinition-" + type);
        Elements elements;
        for (const json::Value& one : items_of(*definition.root().find("snapshot"), "element")) {
            Element element{text_of(one, "min") != "0", text_of(*one.find("base"), "max") != "1", {}};
            for (const json::Value& allowed : items_of(one, "type"))
                element.types.push_back(text_of(allowed, "code"));
            elements[text_of(one, "path")] = std::move(element);
        }
        return types_[type] = std::move(elements);
    }

    // The element behind a member, and its type; "valueBoolean" belongs to "value[x]".
    static std::pair<std::string, std::string> find(const Elements& elements, const std::string& path,
                                                    const std::string& name) {
        if (const auto plain = elements.find(path + "." + name); plain != elements.end())
            return {plain->first, plain->second.types.empty() ? "" : plain->second.types.front()};
        for (const auto& [choice, element] : elements) {
            if (!choice.starts_with(path + ".") || !choice.ends_with("[x]")) continue;
            const std::string stem = choice.substr(path.size() + 1, choice.size() - path.size() - 4);
            for (std::string type : element.types) {
                std::string ending = type;
                ending[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(ending[0])));
                if (name == stem + ending) return {choice, type};
            }
        }
        return {};
    }

    void walk(const json::Value& object, const std::string& path, const std::string& type) {
        const Elements& elements = elements_of(type);
        std::vector<std::string> seen;
        for (const json::Value& member : object) {
            if (member.name() == "resourceType") continue;
            const auto [found, found_type] = find(elements, path, std::string(member.name()));
            const std::string words = path + "." + std::string(member.name());
            ASSERT_FALSE(found.empty()) << words << " does not exist in " << spec::name_of(release_);
            EXPECT_EQ(member.is(json::Kind::array), elements.at(found).repeats) << words;
            seen.push_back(found);
            const bool inner = found_type == "BackboneElement" || found_type == "Element";
            for (const json::Value& item : items_of(object, member.name())) {
                if (item.is(json::Kind::object))
                    walk(item, inner ? found : found_type, inner ? type : found_type);
            }
        }
        for (const auto& [child, element] : elements) {
            const bool direct =
                child.starts_with(path + ".") && child.find('.', path.size() + 1) == std::string::npos;
            if (direct && element.required) {
                EXPECT_THAT(seen, testing::Contains(child)) << spec::name_of(release_);
            }
        }
    }

    Release release_;
    std::map<std::string, Elements> types_;
};

template <class T>
void expect_valid(const T& sample, const std::string& type) {
    for (const Release release : spec::releases) {
        json::Document document;
        put_resource(document.root(), sample, release);
        EXPECT_EQ(document.root().string_at("resourceType"), type);
        Definitions(release).expect_valid(document.root(), type);
    }
}

TEST(StructureTest, EveryBuilderKeepsToTheDefinitionOfEachRelease) {
    expect_valid(test::administration(), "MedicationAdministration");
    expect_valid(test::observation(), "Observation");
    expect_valid(test::provenance(), "Provenance");
    expect_valid(test::device(), "Device");
}

}  // namespace
}  // namespace nightferry::fhir::resource
