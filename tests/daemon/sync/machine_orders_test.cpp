// Reading what the clinic has ordered: what is asked for, and that nothing of it ever keeps a pass from its
// end.
#include "tests/daemon/sync/script.hpp"

namespace nightferry::sync {
namespace {

using namespace std::chrono_literals;
using namespace test;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using Reached = NoAnswer::Reached;

// An order of enoxaparin by its ATC code; `members` replace the medicine.
std::string order(const std::string& id, const std::string& members = {},
                  const std::string& patient = "Patient/p1", const std::string& status = "active") {
    const std::string medicine =
        R"("medicationCodeableConcept":{"coding":[{"system":"http://www.whocc.no/atc","code":"B01AB05"}]})";
    return R"({"resourceType":"MedicationRequest","id":")" + id + R"(","status":")" + status +
           R"(","intent":"order","authoredOn":"2026-09-01","subject":{"reference":")" + patient + R"("},)" +
           (members.empty() ? medicine : members) + "}";
}

HttpAnswer page(const std::vector<std::string>& orders, const std::string& next) {
    HttpAnswer answer = searchset(orders);
    answer.body.insert(answer.body.size() - 1, R"(,"link":[{"relation":"next","url":")" + next + R"("}])");
    return answer;
}

class MachineOrdersTest : public testing::Test {
 protected:
    MachineOrdersTest() : machine_({}, mapper(), {}, {}, random_) {
        machine_.read_orders_of({"https://clinic.example/fhir", &home_, {{"juniper", {}}}, {}});
    }

    void read_before(std::vector<std::string> active) {
        machine_.read_orders_of(
            {"https://clinic.example/fhir", &home_, {{"juniper", std::move(active)}}, {}});
    }
    void feed(Event event) {
        action_ = machine_.on(std::move(event), test_now());
        // Nothing was confirmed yet.
        while (std::holds_alternative<Recall>(action_))
            action_ = machine_.on(Recalled{}, test_now());
    }
    void start() {
        feed(PassRequested{});
        if (std::holds_alternative<Send>(action_) && target() == "/metadata")
            feed(Replied{Clinic().answer({"GET", "/metadata", {}, {}})});
    }
    std::string target() const {
        const auto* send = std::get_if<Send>(&action_);
        return send == nullptr ? std::string() : send->request.target;
    }
    void answer(Reply reply) { feed(Replied{std::move(reply)}); }
    // What is kept, "o1 active"; the pass then goes on.
    std::vector<std::string> kept(logbook::OrderHistory history = {}) {
        std::vector<std::string> told;
        const auto* keep = std::get_if<KeepOrders>(&action_);
        if (keep == nullptr) return {"nothing is kept"};
        EXPECT_EQ(keep->seen.person, "juniper");
        for (const logbook::SeenOrder& one : keep->seen.orders)
            told.push_back(one.id + " " + one.status);
        failure_ = keep->seen.failure;
        others_ = keep->seen.others;
        if (!failure_.empty()) told.push_back("failed");
        feed(OrdersKept{std::move(history)});
        return told;
    }
    bool takes() const { return std::holds_alternative<Take>(action_); }
    void finish() {
        feed(Taken{});
        ASSERT_TRUE(std::holds_alternative<Settle>(action_));
        feed(Settled{});
        EXPECT_TRUE(machine_.is_resting());
    }

    const entry::Household home_ = household();
    LargestDraw random_;
    SyncMachine machine_;
    Action action_ = Rest{};
    std::string failure_;
    std::int64_t others_ = 0;
};

// https://hl7.org/fhir/R4/medicationrequest.html#search
TEST_F(MachineOrdersTest, ActiveOrdersOfThePatientAreReadOnceInAPass) {
    start();
    EXPECT_EQ(target(), "/MedicationRequest?patient=Patient/p1&status=active&intent=order");
    answer(searchset({order("o1"), order("o2", R"("medicationCodeableConcept":{"text":"salbutamol"})")}));
    EXPECT_THAT(kept(), ElementsAre("o1 active"));
    EXPECT_EQ(others_, 1) << "of what is none of this hub's business nothing is kept";
    EXPECT_TRUE(takes());
    finish();
    start();
    EXPECT_THAT(target(), HasSubstr("/MedicationRequest?"));
}

// Servers may leave parameters out of account (https://hl7.org/fhir/R4/search.html#errors).
TEST_F(MachineOrdersTest, WhatWasNotAskedForIsLeftOut) {
    start();
    answer(searchset({order("o1", {}, "Patient/somebody-else"), order("o2", {}, "Patient/p1", "stopped"),
                      order("o3", {}, "https://clinic.example/fhir/Patient/p1")}));
    EXPECT_THAT(kept(), ElementsAre("o3 active"));
}

// https://hl7.org/fhir/R4/http.html#paging
TEST_F(MachineOrdersTest, EveryPageIsRead) {
    start();
    answer(page({order("o1")}, "https://clinic.example/fhir?page=2"));
    EXPECT_EQ(target(), "?page=2");
    answer(searchset({order("o2")}));
    EXPECT_THAT(kept(), ElementsAre("o1 active", "o2 active"));
}

TEST_F(MachineOrdersTest, NextPageElsewhereIsNotFollowed) {
    start();
    answer(page({order("o1")}, "https://other.example/fhir?page=2"));
    EXPECT_THAT(kept(), ElementsAre("failed"));
    EXPECT_THAT(failure_, HasSubstr("another address"));
    EXPECT_TRUE(takes());
}

TEST_F(MachineOrdersTest, PagesHaveAnEnd) {
    start();
    int pages = 0;
    while (target().find("page") != std::string::npos || pages == 0) {
        ++pages;
        answer(page({}, "https://clinic.example/fhir/MedicationRequest?page=" + std::to_string(pages)));
    }
    EXPECT_EQ(pages, OrderWalk::pages_max);
    EXPECT_THAT(kept(), ElementsAre("failed"));
}

TEST_F(MachineOrdersTest, ListThatIsNotWholeIsNotBelieved) {
    start();
    HttpAnswer part = searchset({order("o1")});
    part.body.insert(part.body.size() - 1, R"(,"total":3)");
    answer(part);
    EXPECT_THAT(kept(), ElementsAre("failed"));
    EXPECT_THAT(failure_, HasSubstr("counts more orders than it lists"));
}

TEST_F(MachineOrdersTest, MedicationOfItsOwnIsReadOnce) {
    start();
    const std::string reference = R"("medicationReference":{"reference":"Medication/m1"})";
    answer(searchset({order("o1", reference), order("o2", reference)}));
    EXPECT_EQ(target(), "/Medication/m1");
    answer(HttpAnswer{200,
                      {},
                      R"({"resourceType":"Medication","id":"m1","code":{"coding":[{"system":)"
                      R"("http://www.whocc.no/atc","code":"B01AB05"}]}})"});
    EXPECT_THAT(kept(), ElementsAre("o1 active", "o2 active"));
}

TEST_F(MachineOrdersTest, MedicationThatMayNotBeReadLeavesTheOrderUnnamed) {
    start();
    answer(searchset(
        {order("o1", R"("medicationReference":{"reference":"Medication/m1"})"),
         order("o2", R"("medicationReference":{"reference":"https://other.example/Medication/m2"})")}));
    EXPECT_EQ(target(), "/Medication/m1");
    answer(outcome(403, "no"));
    EXPECT_THAT(kept(), ElementsAre("o1 active", "o2 active"));
}

TEST_F(MachineOrdersTest, OrdersThatAreNotListedAnyMoreAreLookedAt) {
    read_before({"a", "b", "c", "d"});
    start();
    answer(searchset({order("a")}));
    EXPECT_EQ(target(), "/MedicationRequest/b");
    answer(HttpAnswer{200, {}, order("b", {}, "Patient/p1", "stopped")});
    EXPECT_EQ(target(), "/MedicationRequest/c");
    answer(outcome(404, "no"));
    EXPECT_EQ(target(), "/MedicationRequest/d");
    answer(outcome(403, "no"));
    EXPECT_THAT(kept(), ElementsAre("a active", "b stopped", "c not found", "d not listed"));
}

TEST_F(MachineOrdersTest, RefusalIsRememberedAndThePassGoesOn) {
    for (const int status : {400, 401, 403, 404, 410, 429, 500, 501, 503}) {
        start();
        answer(outcome(status, "no orders here"));
        EXPECT_THAT(kept(), ElementsAre("failed")) << status;
        EXPECT_TRUE(takes()) << status;
        finish();
        EXPECT_EQ(machine_.state().failures, 0) << status;
    }
    start();
    answer(HttpAnswer{200, {}, "<html>log in</html>"});
    EXPECT_THAT(kept(), ElementsAre("failed"));
    EXPECT_TRUE(takes());
}

TEST_F(MachineOrdersTest, NoAnswerIsRememberedAndThePassGoesOn) {
    for (const Reached reached : {Reached::no, Reached::untrusted, Reached::perhaps}) {
        start();
        answer(NoAnswer{reached, "the line is dead"});
        EXPECT_THAT(kept(), ElementsAre("failed"));
        EXPECT_THAT(failure_, HasSubstr("the line is dead"));
        EXPECT_TRUE(takes());
        finish();
    }
}

TEST_F(MachineOrdersTest, FailureHalfwayTakesNothingOver) {
    read_before({"gone"});
    start();
    answer(searchset({order("o1")}));
    EXPECT_EQ(target(), "/MedicationRequest/gone");
    answer(outcome(500, "broken"));
    EXPECT_THAT(kept(), ElementsAre("failed"));
    EXPECT_TRUE(takes());
}

TEST_F(MachineOrdersTest, DoseNamesTheOrderByWhichItIsGiven) {
    start();
    answer(searchset({order("o1")}));
    const auto* keep = std::get_if<KeepOrders>(&action_);
    ASSERT_NE(keep, nullptr);
    logbook::OrderHistory history;
    history.states = {{keep->seen.orders.at(0), test_now(), std::nullopt}};
    kept(history);
    feed(Taken{{parcel(a_dose("d1"))}});
    const auto* send = std::get_if<Send>(&action_);
    ASSERT_NE(send, nullptr);
    EXPECT_EQ(text_at(entries_in(send->request).at(0).resource, "request/reference"), "MedicationRequest/o1");
}

// What was sent before orders were read, or when another was in force, is still ours.
TEST_F(MachineOrdersTest, OrderThatADoseNamesIsNoChangeOfTheClinics) {
    JobBuilder builder(mapper());
    fhir::json::Document with;
    const logbook::Parcel dose = parcel(a_dose("d1"));
    ASSERT_TRUE(mapper().put_resource(with.root(), dose.wanted, {"n1", {}, "MedicationRequest/older"}));
    Load load;
    load.parcel = dose;
    load.parcel.receipt = logbook::Receipt{1, "MedicationAdministration", "n1", "1", 201, test_now()};
    const HttpAnswer held{200, {{"ETag", "W/\"1\""}}, fhir::json::write(with.root())};
    EXPECT_EQ(builder.read(ReadJob{load}, held).kind, Holding::Kind::up_to_date);
    fhir::json::Document without;
    ASSERT_TRUE(mapper().put_resource(without.root(), dose.wanted, {"n1", {}, {}}));
    const HttpAnswer bare{200, {{"ETag", "W/\"1\""}}, fhir::json::write(without.root())};
    EXPECT_EQ(builder.read(ReadJob{load}, bare).kind, Holding::Kind::up_to_date);
}

}  // namespace
}  // namespace nightferry::sync
