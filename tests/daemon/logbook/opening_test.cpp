// Opening the logbook's file: what is made, what is refused, what is put right.
#include "daemon/logbook/schema.hpp"
#include "tests/daemon/logbook/open_logbook.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::HasSubstr;

Error error_of_opening(const std::filesystem::path& file) {
    const auto opened = open(file, test_now());
    EXPECT_FALSE(opened.has_value()) << "it was opened";
    return opened ? Error{} : opened.error();
}

std::vector<std::string> names_in(const std::filesystem::path& folder) {
    std::vector<std::string> names;
    for (const auto& item : std::filesystem::directory_iterator(folder))
        names.push_back(item.path().filename().string());
    std::sort(names.begin(), names.end());
    return names;
}

// Turns every bit of the page that begins at `offset`.
void flip_page(const std::filesystem::path& file, std::size_t offset) {
    std::string bytes = read_file(file);
    for (std::size_t i = offset; i < std::min(bytes.size(), offset + 4096); ++i)
        bytes[i] = static_cast<char>(~bytes[i]);
    write_file(file, bytes);
}

TEST(OpeningTest, NewFileIsMarkedAsOursAndCurrent) {
    OpenLogbook log;
    log.close();
    EXPECT_EQ(raw_sql(log.file(), "PRAGMA application_id"), std::to_string(application_id));
    EXPECT_EQ(raw_sql(log.file(), "PRAGMA user_version"), std::to_string(schema_version()));
    EXPECT_EQ(raw_sql(log.file(), "PRAGMA journal_mode"), "wal");
    // Byte 68 of an SQLite file holds the application id (https://www.sqlite.org/fileformat.html).
    EXPECT_EQ(read_file(log.file()).substr(68, 4), "NFLB");
}

TEST(OpeningTest, EveryOpeningCommitsSomethingOfItsOwn) {
    OpenLogbook log;
    log.reopen();
    log.close();
    EXPECT_EQ(raw_sql(log.file(), "SELECT count(*) FROM starts"), "2");
}

// Work that takes long: about 10 million steps, which would leave a row in the end.
constexpr char long_work[] =
    "INSERT INTO pins (name, value) WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < "
    "1000000) SELECT 'counted', count(*) FROM n";

TEST(OpeningTest, WorkThatIsCalledOffLeavesNothingAndTheLogbookIsUsedOn) {
    OpenLogbook log;
    int calls = 0;
    log.db().watch([&calls] { return ++calls < 3; });
    const auto called_off = log.db().run(long_work);
    ASSERT_FALSE(called_off);
    EXPECT_EQ(called_off.error().code, Errc::storage);
    EXPECT_THAT(called_off.error().detail, HasSubstr("was called off"));
    EXPECT_EQ(calls, 3);
    log.db().watch({});
    EXPECT_EQ(log.db().integer("SELECT count(*) FROM pins WHERE name = 'counted'").value(), 0);
    log.accept(a_weight("w1"));
    EXPECT_TRUE(log.db().run(long_work)) << "nobody watches any more";
    EXPECT_EQ(calls, 3);
}

TEST(OpeningTest, OpeningThatIsCalledOffAnywhereLosesNothing) {
    OpenLogbook log;
    std::vector<Arrival> many;
    for (int number = 0; number < 4000; ++number)
        many.push_back(arrival(a_weight("w" + std::to_string(number))));
    log.accept(many);
    log.close();
    // Then it is checked and written anew first.
    write_file(log.file().string() + ".in-doubt", "");
    int called_off = 0;
    for (int steps = 0;; ++steps) {
        int left = steps;
        const auto opened = open(log.file(), test_now(), system_files(), [&left] { return left-- > 0; });
        if (opened) break;
        ++called_off;
        EXPECT_EQ(opened.error().code, Errc::storage) << opened.error().detail;
    }
    EXPECT_GE(called_off, 2);
    EXPECT_EQ(raw_sql(log.file(), "SELECT count(*) FROM entries"), "4000");
}

TEST(OpeningTest, FileOfANewerVersionIsRefusedByteForByteUnchanged) {
    OpenLogbook log;
    log.accept(a_weight("w1"));
    log.close();
    raw_sql(log.file(), "PRAGMA user_version = " + std::to_string(schema_version() + 1));
    const std::string before = read_file(log.file());
    const Error error = error_of_opening(log.file());
    EXPECT_EQ(error.code, Errc::corrupt);
    EXPECT_THAT(error.detail,
                HasSubstr("written by a newer nightferryd (version " + std::to_string(schema_version() + 1)));
    EXPECT_THAT(error.detail, HasSubstr("install the newer program again or restore a backup"));
    EXPECT_TRUE(read_file(log.file()) == before);
    EXPECT_THAT(names_in(log.file().parent_path()), testing::ElementsAre(log.file().filename().string()));
}

TEST(OpeningTest, DatabaseOfSomethingElseIsRefused) {
    TemporaryFolder folder;
    raw_sql(folder / "other.sqlite", "CREATE TABLE songs (title TEXT); INSERT INTO songs VALUES ('Lullaby')");
    const Error error = error_of_opening(folder / "other.sqlite");
    EXPECT_EQ(error.code, Errc::corrupt);
    EXPECT_THAT(error.detail, HasSubstr("belongs to something else; it was left as it is"));
    EXPECT_EQ(raw_sql(folder / "other.sqlite", "SELECT title FROM songs"), "Lullaby");
}

TEST(OpeningTest, DatabaseOfSomethingElseIsLeftByteForByteAsItIs) {
    TemporaryFolder folder;
    raw_sql(folder / "other.sqlite", "CREATE TABLE songs (title TEXT); INSERT INTO songs VALUES ('Lullaby')");
    const std::string before = read_file(folder / "other.sqlite");
    error_of_opening(folder / "other.sqlite");
    EXPECT_TRUE(read_file(folder / "other.sqlite") == before);
    EXPECT_THAT(names_in(folder.path()), testing::ElementsAre("other.sqlite"));
}

TEST(OpeningTest, TextFileInItsPlaceIsRefusedAndLeftAsItIs) {
    TemporaryFolder folder;
    const std::string note = "Where I wrote down the doses before we had the hub:\n12 October 0.18 mL\n";
    for (const std::string& text : {note, std::string(9000, 'x')}) {
        write_file(folder / "logbook.sqlite", text);
        const Error error = error_of_opening(folder / "logbook.sqlite");
        EXPECT_EQ(error.code, Errc::corrupt);
        EXPECT_THAT(error.detail, HasSubstr("is no logbook; it was left as it is"));
        EXPECT_EQ(read_file(folder / "logbook.sqlite"), text);
    }
}

TEST(OpeningTest, EveryDamagedPageIsRefused) {
    OpenLogbook log;
    std::vector<Arrival> arrivals;
    for (int i = 0; i < 300; ++i)
        arrivals.push_back(arrival(a_weight("w" + std::to_string(i))));
    log.accept(arrivals);
    log.close();
    const std::string whole = read_file(log.file());
    ASSERT_GT(whole.size(), 20 * 4096u);
    for (std::size_t page = 1; page * 4096 < whole.size(); ++page) {
        write_file(log.file(), whole);
        flip_page(log.file(), page * 4096);
        const std::string damaged = read_file(log.file());
        const Error error = error_of_opening(log.file());
        EXPECT_EQ(error.code, Errc::corrupt) << "page " << page + 1;
        EXPECT_THAT(error.detail, testing::AllOf(HasSubstr("damaged"), HasSubstr("keep a copy"),
                                                 HasSubstr("restore the last backup")));
        EXPECT_TRUE(read_file(log.file()) == damaged) << "page " << page + 1;
    }
    write_file(log.file(), whole);
    log.open();
    EXPECT_THAT(log.book().list({}).value().records, testing::SizeIs(300));
}

TEST(OpeningTest, FileCutShortIsRefused) {
    OpenLogbook log;
    std::vector<Arrival> arrivals;
    for (int i = 0; i < 100; ++i)
        arrivals.push_back(arrival(a_weight("w" + std::to_string(i))));
    log.accept(arrivals);
    log.close();
    const std::string whole = read_file(log.file());
    write_file(log.file(), whole.substr(0, whole.size() / 2 / 4096 * 4096));
    EXPECT_EQ(error_of_opening(log.file()).code, Errc::corrupt);
}

TEST(OpeningTest, SecondOpenerIsToldThatItIsHeld) {
    OpenLogbook log;
    const Error error = error_of_opening(log.file());
    EXPECT_EQ(error.code, Errc::locked);
    EXPECT_THAT(error.detail, HasSubstr("another process holds the logbook"));
    EXPECT_EQ(log.accept(a_weight("w1")).kind, Verdict::Kind::add);
    log.reopen();
    EXPECT_EQ(log.delivery("w1"), "waiting for 1");
}

TEST(OpeningTest, MissingFolderIsAMatterOfSetup) {
    TemporaryFolder folder;
    const Error error = error_of_opening(folder / "nowhere" / "logbook.sqlite");
    EXPECT_EQ(error.code, Errc::setup);
    EXPECT_THAT(error.detail, HasSubstr("its folder must exist and be writable"));
    EXPECT_FALSE(std::filesystem::exists(folder / "nowhere"));
}

// A file as version 1 left it: a weight in each state, one of them sent twice.
void make_version_1(const std::filesystem::path& file) {
    put_empty_logbook(file, 1);
    int place = 0;
    for (const char* state : {"waiting", "under_way", "confirmed", "set_aside"}) {
        const std::string id = "'" + id_of(state).to_string() + "'";
        raw_sql(file, "INSERT INTO entries VALUES (" + id + ", 'weight', 'juniper', 1, 1, 0);" +
                          "INSERT INTO revisions VALUES (" + id + ", 1, 2, 'inbox', '" +
                          entry::to_body(a_weight(state)) + "');" +
                          "INSERT INTO deliveries VALUES ('north', " + id + ", " + std::to_string(++place) +
                          ", 1, '" + state + "', 3, 0, 'words', 4)");
    }
    raw_sql(file, "INSERT INTO receipts VALUES ('north', '" + id_of("confirmed").to_string() +
                      "', 1, 'Observation', 'o1', '7', 201, 5)");
}

TEST(OpeningTest, LogbookOfVersion1IsTakenOverWithEverythingInIt) {
    TemporaryFolder folder;
    const std::filesystem::path file = file_in(folder.path());
    make_version_1(file);
    const auto db = open(file, test_now());
    ASSERT_TRUE(db.has_value()) << db.error().detail;
    Logbook book(**db);
    Outbox outbox(**db);
    EXPECT_THAT(book.list({}).value().records, testing::SizeIs(4));
    const QueueCounts counts = outbox.counts("north").value();
    EXPECT_EQ(counts.waiting, 2);
    EXPECT_EQ(counts.confirmed, 1);
    EXPECT_EQ(counts.set_aside, 1);
    EXPECT_EQ(counts.closed, 0);
    const Delivery confirmed = book.find(id_of("confirmed")).value().value().deliveries.at(0);
    EXPECT_EQ(confirmed.attempts, 3);
    EXPECT_EQ(confirmed.words, "words");
    EXPECT_EQ(confirmed.receipts.at(0).version_id, "7");
    EXPECT_TRUE(outbox.close("north", id_of("set_aside"), "tove", "phoned", test_now()).value());
    std::vector<EntryId> order;
    for (const Parcel& parcel : outbox.take("north", {.limit = 10}, test_now()).value())
        order.push_back(parcel.id);
    EXPECT_THAT(order, testing::ElementsAre(id_of("waiting"), id_of("under_way")));
    const std::filesystem::path copy = file.string() + ".before-v2";
    EXPECT_EQ(raw_sql(copy, "PRAGMA user_version"), "1");
    EXPECT_EQ(raw_sql(copy, "SELECT count(*) FROM deliveries"), "4");
}

TEST(OpeningTest, LogbookOfVersion3HasItsReceiptsNumberedInTheOrderOfTheirTime) {
    TemporaryFolder folder;
    const std::filesystem::path file = file_in(folder.path());
    put_empty_logbook(file, 3);
    struct Answer {
        const char* clinic;
        const char* label;
        int received;
    };
    for (const char* label : {"w1", "w2", "w3"}) {
        const std::string id = "'" + id_of(label).to_string() + "'";
        raw_sql(file, "INSERT INTO entries VALUES (" + id + ", 'weight', 'juniper', 1, 1, 0);" +
                          "INSERT INTO revisions VALUES (" + id + ", 1, 2, 'inbox', '" +
                          entry::to_body(a_weight(label)) + "');");
    }
    for (const Answer& answer :
         {Answer{"north", "w1", 30}, {"north", "w2", 10}, {"north", "w3", 20}, {"south", "w1", 15}}) {
        const std::string way =
            "('" + std::string(answer.clinic) + "', '" + id_of(answer.label).to_string() + "', ";
        raw_sql(file, "INSERT INTO deliveries VALUES " + way + "1, 1, 'confirmed', 1, 0, '', 4);" +
                          "INSERT INTO receipts VALUES " + way + "1, 'Observation', 'o1', '7', 201, " +
                          std::to_string(answer.received) + ")");
    }
    const auto db = open(file, test_now());
    ASSERT_TRUE(db.has_value()) << db.error().detail;
    Outbox outbox(**db);
    std::vector<std::string> order;
    for (const Parcel& parcel : outbox.recall("north", 100, 10).value()) {
        EXPECT_EQ(parcel.receipt->written_after, parcel.receipt->number - 1);
        EXPECT_FALSE(parcel.lost);
        for (const char* label : {"w1", "w2", "w3"}) {
            if (parcel.id == id_of(label))
                order.push_back(label + (" " + std::to_string(parcel.receipt->number)));
        }
    }
    EXPECT_THAT(order, testing::ElementsAre("w1 3", "w3 2", "w2 1"));
    EXPECT_EQ(outbox.recall("south", 100, 10).value().at(0).receipt->number, 1);
    EXPECT_EQ(outbox.state("north").value().skew, std::chrono::microseconds{0});
    EXPECT_EQ(outbox.counts("north").value().confirmed, 3);
    EXPECT_EQ(outbox.counts("south").value().confirmed, 1);
    EXPECT_EQ(raw_sql(file.string() + ".before-v4", "PRAGMA user_version"), "3");
}

TEST(OpeningTest, LogbookOfVersion5KeepsItsWaysAndBeginsItsAuditTrail) {
    TemporaryFolder folder;
    const std::filesystem::path file = file_in(folder.path());
    put_empty_logbook(file, 5);
    int place = 0;
    for (const char* state : {"waiting", "confirmed", "set_aside", "closed"}) {
        const std::string id = "'" + id_of(state).to_string() + "'";
        raw_sql(file, "INSERT INTO entries VALUES (" + id + ", 'weight', 'juniper', 1, 1, 0);" +
                          "INSERT INTO revisions VALUES (" + id + ", 1, 2, 'inbox', '" +
                          entry::to_body(a_weight(state)) + "');" +
                          "INSERT INTO deliveries VALUES ('north', " + id + ", " + std::to_string(++place) +
                          ", 1, '" + state + "', 3, 1, 'words', 4, 1, 1, 5, 6);");
    }
    raw_sql(file, "INSERT INTO pins VALUES ('shared:north', 'juniper '), ('clinic:north', 'https://x')");
    const std::string columns =
        "SELECT group_concat(clinic || entry_id || place || wanted || state || attempts || outcome_unknown "
        "|| "
        "words || changed_us || troubled || lost || since || wanted_us) FROM (SELECT * FROM deliveries ORDER "
        "BY place)";
    const std::string before = raw_sql(file, columns);
    {
        const auto db = open(file, test_now());
        ASSERT_TRUE(db.has_value()) << db.error().detail;
        Logbook book(**db);
        // The clinic was set up before there were policies: it is owed what it was owed all along.
        const auto change = book.share("north", policy_for({"juniper"}), test_now());
        EXPECT_EQ(change.value().owed + change.value().withdrawn, 0);
        EXPECT_EQ(Outbox(**db).counts("north").value().waiting, 1);
        EXPECT_THAT(AuditTrail(**db).rows(0, 10).value(), testing::SizeIs(1));
    }
    EXPECT_EQ(raw_sql(file, columns), before);
    EXPECT_EQ(raw_sql(file, "SELECT group_concat(name) FROM pins"), "clinic:north");
    EXPECT_EQ(raw_sql(file.string() + ".before-v6", "PRAGMA user_version"), "5");
}

TEST(OpeningTest, WhatWasUnderWayWaitsAgainWithItsOutcomeUnknown) {
    OpenLogbook log;
    for (const char* label : {"sent", "arrived", "waits"})
        log.accept(a_weight(label));
    log.take(2);
    log.settle(confirmed("arrived"));
    log.reopen();
    EXPECT_EQ(log.delivery("sent"), "waiting for 1");
    EXPECT_EQ(log.delivery("arrived"), "confirmed for 1");
    const auto parcels = log.take();
    ASSERT_THAT(parcels, testing::SizeIs(2));
    EXPECT_EQ(parcels[0].id, id_of("sent"));
    EXPECT_TRUE(parcels[0].outcome_unknown);
    EXPECT_EQ(parcels[0].attempts, 2);
    EXPECT_EQ(parcels[1].id, id_of("waits"));
    EXPECT_FALSE(parcels[1].outcome_unknown);
}

}  // namespace

}  // namespace nightferry::logbook
