// What the hub sends comes in again as the same entry, and goes out equal to the last character, in every
// release: all elements of the resource and of its Provenance, not only those with a clinical meaning.
#include "daemon/entry/body.hpp"
#include "fhir/check/validator.hpp"
#include "fhir/json/writer.hpp"
#include "tests/daemon/mapping/golden.hpp"
#include "tests/daemon/mapping/incoming.hpp"

namespace nightferry::mapping {
namespace {

namespace json = fhir::json;
using fhir::spec::Release;

// A Bundle of what a clinic gets of the version.
std::string bundle_of(const entry::Version& version, Release release) {
    const Mapper mapper(home(), identities(), release);
    json::Document bundle;
    bundle.root().add_string("resourceType", "Bundle");
    bundle.root().add_string("type", "collection");
    json::Value& entries = bundle.root().add_array("entry");
    json::Value& first = entries.push_object();
    const std::string url = Mapper::full_url(version.content.id);
    first.add_string("fullUrl", url);
    EXPECT_TRUE(mapper.put_resource(first.add_object("resource"), version, {}));
    json::Value& second = entries.push_object();
    second.add_string("fullUrl", "urn:uuid:0d6f64a1-5b9e-4a52-9d0f-2f53f1a7f3c1");
    mapper.put_provenance(second.add_object("resource"), version, url);
    return json::write_pretty(bundle.root());
}

class RoundTripTest : public testing::TestWithParam<std::tuple<std::string, Release>> {};

TEST_P(RoundTripTest, ComesOutAsItWentIn) {
    const auto& [name, release] = GetParam();
    const entry::Version sent = version_from(test::read_file(golden_folder / (name + ".entry.ndjson")));
    const std::string text = bundle_of(sent, release);
    const Outcomes read = outcomes_of(text);
    if (sent.content.kind() == entry::Kind::summary) {
        ASSERT_EQ(read.parts.size(), 2u);
        EXPECT_FALSE(read.parts[0].submission);
        EXPECT_EQ(
            read.parts[0].problems.back(),
            "Bundle.entry[0].resource.code: the hub makes its summaries itself; hand in the doses that it "
            "counts");
        return;
    }
    ASSERT_EQ(read.parts.size(), 2u) << text;
    EXPECT_EQ(read.parts[0].problems, std::vector<std::string>()) << text;
    EXPECT_TRUE(read.parts[1].is_context);
    ASSERT_TRUE(read.parts[0].submission);
    entry::Version again = sent;
    again.submission = *read.parts[0].submission;
    if (again.submission.entry) again.content = *again.submission.entry;
    EXPECT_EQ(bundle_of(again, release), text);
    // The same entry, but that it now says when it was written down.
    entry::Submission expected = sent.submission;
    expected.recorded = sent.recorded();
    EXPECT_EQ(entry::essence(again.submission), entry::essence(expected));
}

INSTANTIATE_TEST_SUITE_P(Golden, RoundTripTest,
                         testing::Combine(testing::ValuesIn(golden_names()),
                                          testing::ValuesIn(fhir::spec::releases)),
                         [](const auto& one) {
                             return std::get<0>(one.param) + "_" +
                                    std::string(fhir::spec::name_of(std::get<1>(one.param)));
                         });

}  // namespace
}  // namespace nightferry::mapping
