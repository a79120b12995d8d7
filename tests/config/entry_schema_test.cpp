// The published schema of entries names exactly the fields and words that the hub knows.
#include <gtest/gtest.h>

#include <set>

#include "daemon/entry/check.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "fhir/json/reader.hpp"
#include "tests/support/files.hpp"

namespace nightferry::config {
namespace {

namespace json = fhir::json;

class EntrySchemaTest : public testing::Test {
 protected:
    const json::Value& definition(std::string_view name) const {
        return *schema_.root().find("$defs")->find(name);
    }
    static std::set<std::string> texts_of(const json::Value& list) {
        std::set<std::string> texts;
        for (const json::Value& item : list)
            texts.emplace(item.text());
        return texts;
    }
    template <class E>
    static std::set<std::string> words() {
        std::set<std::string> texts;
        for (const auto& word : entry::Vocabulary<E>::words)
            texts.emplace(word.text);
        return texts;
    }

    const json::Document schema_ = *json::read(test::source_file("config/entry.schema.json"));
};

TEST_F(EntrySchemaTest, NamesEveryFieldAndNoOther) {
    std::set<std::string> in_schema;
    for (const char* type :
         {"dose_given", "dose_not_given", "finding", "weight", "vial_opened", "retraction"}) {
        for (const json::Value& property : *definition(type).find("properties"))
            in_schema.emplace(property.name());
    }
    std::set<std::string> in_code;
    for (const std::string_view name : entry::field_names())
        in_code.emplace(name);
    EXPECT_EQ(in_schema, in_code);
}

TEST_F(EntrySchemaTest, NamesEveryWord) {
    const json::Value& finding = *definition("finding").find("properties");
    EXPECT_EQ(texts_of(*finding.find("finding")->find("enum")), words<entry::FindingKind>());
    const json::Value& missed = *definition("dose_not_given").find("properties");
    EXPECT_EQ(texts_of(*missed.find("why")->find("enum")), words<entry::WhyNotGiven>());
    EXPECT_EQ(texts_of(*definition("region").find("enum")), words<entry::Region>());
    EXPECT_EQ(texts_of(*definition("side").find("enum")), words<entry::Side>());
    EXPECT_EQ(texts_of(*definition("unit").find("enum")), words<entry::Unit>());
    const json::Value& weight = *definition("weight").find("properties");
    EXPECT_EQ(texts_of(*weight.find("how")->find("enum")), words<entry::HowWeighed>());
}

TEST_F(EntrySchemaTest, KnowsWhichFindingsHaveNoSite) {
    std::set<std::string> elsewhere;
    for (const auto& word : entry::Vocabulary<entry::FindingKind>::words) {
        if (entry::place_of(word.value) == entry::Place::elsewhere) elsewhere.emplace(word.text);
    }
    EXPECT_EQ(texts_of(*definition("elsewhere").find("enum")), elsewhere);
}

}  // namespace
}  // namespace nightferry::config
