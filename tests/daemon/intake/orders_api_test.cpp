// What the local API answers about what clinics list as ordered, and how `nightferry orders` shows that.
#include "daemon/report/orders_text.hpp"
#include "fhir/json/reader.hpp"
#include "tests/daemon/intake/api_caller.hpp"

namespace nightferry::intake {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

// "nowhere" is asked for what it has ordered for Juniper.
class OrdersApiTest : public ApiTest {
 protected:
    OrdersApiTest() { upkeep_.compare_orders(book_); }

    // The clinic lists one order of so many mg at 8 and 20 o'clock.
    void list(const std::string& mg) {
        const std::string body =
            R"({"resourceType":"MedicationRequest","id":"r1","status":"active","intent":"order",)"
            R"("medicationCodeableConcept":{"coding":[{"system":"http://www.whocc.no/atc","code":"B01AB05"}],)"
            R"("text":"enoxaparin"},"dosageInstruction":[{"text":"Twice a day","timing":{"repeat":{"timeOfDay":)"
            R"(["08:00:00","20:00:00"],"frequency":2,"period":1,"periodUnit":"d"}},"doseAndRate":[)"
            R"({"doseQuantity":{"value":)" +
            mg + R"(,"unit":"mg","system":"http://unitsofmeasure.org","code":"mg"}}]}]})";
        keep({"juniper", {{"r1", "active", body}}, 2, {}});
    }
    void keep(const logbook::OrdersSeen& seen) {
        ASSERT_TRUE(shelf_.keep("nowhere", seen, hub_.clock.now()));
    }
    void order_in_settings(const Decimal& ml) {
        care::Plan plan;
        plan.person = "juniper";
        const entry::Amount amount{ml, entry::Unit::millilitre};
        plan.regimen.orders.push_back(
            {LocalSecond{std::chrono::local_days{std::chrono::year{2026} / 10 / 12}},
             hub_.household.zone,
             "enoxaparin-100",
             {{std::chrono::hours{8}, amount}, {std::chrono::hours{20}, amount}}});
        plans_ = {plan};
    }
    std::string orders() { return get("/v1/orders?person=juniper"); }
    std::string told() {
        const auto document = fhir::json::read(orders().substr(4));
        EXPECT_TRUE(document);
        return document ? report::orders_text(document->root()) : std::string();
    }

    logbook::OrderShelf shelf_{*hub_.db};
    upkeep::OrderBook book_{hub_.household, shelf_, [](const std::string& person) {
                                return person == "juniper" ? Names{"nowhere"} : Names{};
                            }};
};

TEST_F(OrdersApiTest, QuestionsThatCannotBeAnsweredAreToldWhy) {
    EXPECT_EQ(get("/v1/orders"), R"(400 {"error":"person is missing; the settings have several"})");
    EXPECT_EQ(get("/v1/orders?person=junipr"),
              R"(404 {"error":"no [[person]] has the key 'junipr'. Did you mean 'juniper'?"})");
    EXPECT_THAT(get("/v1/orders?person=rowan"),
                HasSubstr("409 {\"error\":\"no clinic is asked for what it has ordered for 'rowan'; orders"));
    EXPECT_THAT(post("/v1/orders?person=juniper"), HasSubstr("404 "));
}

TEST_F(OrdersApiTest, ClinicThatWasNeverReadIsToldAsSuch) {
    EXPECT_THAT(orders(), AllOf(HasSubstr(R"("has_regimen":false)"), Not(HasSubstr("last_read"))));
    EXPECT_THAT(told(), HasSubstr("nowhere: never read so far\n"));
    keep({"juniper", {}, 0, "the clinic does not permit it"});
    EXPECT_THAT(told(), HasSubstr("The newest attempt read nothing: the clinic does not permit it"));
}

TEST_F(OrdersApiTest, OrderIsComparedElementByElement) {
    order_in_settings(Decimal(18, 2));
    list("18");
    EXPECT_THAT(orders(), AllOf(HasSubstr(R"("has_regimen":true)"), HasSubstr(R"("other_orders":2)"),
                                HasSubstr(R"("reference":"MedicationRequest/r1")"),
                                Not(HasSubstr(R"("agreement":"differs")"))));
    EXPECT_THAT(told(), AllOf(HasSubstr("MedicationRequest/r1 (active): enoxaparin"),
                              HasSubstr("in the clinic's words: \"Twice a day\""),
                              HasSubstr("Nothing here changes the settings.")));
    list("20");
    EXPECT_THAT(orders(), HasSubstr(R"("element":"amount","agreement":"differs")"));
    EXPECT_THAT(told(), HasSubstr("differs:"));
}

TEST_F(OrdersApiTest, WhatIsReadOnceIsStillComparedWhenTheNextReadingFails) {
    order_in_settings(Decimal(18, 2));
    list("20");
    keep({"juniper", {}, 0, "the clinic's server failed with 500"});
    EXPECT_THAT(orders(), HasSubstr(R"("failure":"the clinic's server failed with 500")"));
    EXPECT_THAT(orders(), HasSubstr(R"("element":"amount","agreement":"differs")"));
}

TEST_F(OrdersApiTest, WithoutARegimenOneIsProposedAsTextForTheSettings) {
    list("18");
    EXPECT_THAT(orders(), HasSubstr(R"("standing":"not_in_regimen")"));
    EXPECT_THAT(told(), HasSubstr("nightferry orders --propose makes one to compare"));
    const auto proposed = fhir::json::read(get("/v1/orders?person=juniper&propose=yes").substr(4));
    ASSERT_TRUE(proposed);
    EXPECT_THAT(report::proposal_text(proposed->root()),
                AllOf(HasSubstr("[[regimen]]"), HasSubstr("medicine = \"enoxaparin-100\""),
                      HasSubstr("08:00 18 mg, 20:00 18 mg")));
}

}  // namespace
}  // namespace nightferry::intake
