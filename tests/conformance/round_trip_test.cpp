// The official R4 examples (npm package hl7.fhir.r4.examples 4.0.1) pass through our reader and writer with
// nothing changed but white space.
#include <gtest/gtest.h>

#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"
#include "tests/support/files.hpp"

namespace nightferry::fhir::json {
namespace {

namespace fs = std::filesystem;

std::vector<fs::path> examples_of(const std::string& type) {
    const fs::path folder = fs::path(NIGHTFERRY_SOURCE_DIR) / "tests/peers/node_modules/hl7.fhir.r4.examples";
    std::vector<fs::path> files;
    for (const auto& item : fs::directory_iterator(folder)) {
        const std::string name = item.path().filename().string();
        if (name.starts_with(type + "-") && name.ends_with(".json")) files.push_back(item.path());
    }
    return files;
}

// The text without white space outside strings; decided by hand so that our own reader is not its own judge.
std::string without_white_space(std::string_view text) {
    std::string bare;
    bool in_string = false;
    bool escaped = false;
    for (const char c : text) {
        const bool blank = c == ' ' || c == '\n' || c == '\r' || c == '\t';
        if (!in_string && blank) continue;
        bare += c;
        if (escaped) {
            escaped = false;
        } else if (c == '\\') {
            escaped = in_string;
        } else if (c == '"') {
            in_string = !in_string;
        }
    }
    return bare;
}

void expect_unchanged(const fs::path& file) {
    const std::string text = test::read_file(file);
    const auto document = read(text);
    ASSERT_TRUE(document) << file << ": " << document.error().message;
    EXPECT_EQ(write(document->root()), without_white_space(text)) << file;
    const auto again = read(write_pretty(document->root()));
    ASSERT_TRUE(again) << file;
    EXPECT_EQ(write(again->root()), write(document->root())) << file;
}

TEST(PublishedExamplesTest, EveryMedicationAdministrationComesBackUnchanged) {
    const auto files = examples_of("MedicationAdministration");
    EXPECT_EQ(files.size(), 14U);
    for (const fs::path& file : files)
        expect_unchanged(file);
}

TEST(PublishedExamplesTest, EveryObservationComesBackUnchanged) {
    const auto files = examples_of("Observation");
    EXPECT_EQ(files.size(), 64U);
    for (const fs::path& file : files)
        expect_unchanged(file);
}

TEST(PublishedExamplesTest, ProvenancesBundlesAndOutcomesComeBackUnchanged) {
    for (const char* type : {"Provenance", "OperationOutcome", "Bundle-bundle"}) {
        const auto files = examples_of(type);
        EXPECT_FALSE(files.empty()) << type;
        for (const fs::path& file : files)
            expect_unchanged(file);
    }
}

// Observation-decimal exists to catch software that takes decimals through binary floating point.
TEST(PublishedExamplesTest, DecimalsKeepEveryDigit) {
    const auto document =
        read(test::source_file("tests/peers/node_modules/hl7.fhir.r4.examples/Observation-decimal.json"));
    ASSERT_TRUE(document);
    const std::string text = write(document->root());
    for (const char* lexeme :
         {"1.0,", "1.00,", "1E-22", "1000000000000000000", "1.000000000000000000E-245"}) {
        EXPECT_NE(text.find(lexeme), std::string::npos) << lexeme;
    }
}

}  // namespace
}  // namespace nightferry::fhir::json
