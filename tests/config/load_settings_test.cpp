// Settings: what good ones mean, and the lines people get for bad ones.
#include "config/load_settings.hpp"

#include <regex>
#include <set>

#include "tests/config/settings_cases.hpp"

namespace nightferry::config {

namespace {

// "nightferry.toml:12: …" for every problem.
Lines problems_of(const Loaded& loaded) {
    EXPECT_EQ(loaded.settings.has_value(), loaded.problems.empty());
    Lines lines;
    for (const Problem& problem : loaded.problems)
        lines.push_back(to_line("nightferry.toml", problem));
    return lines;
}

Loaded parse(const std::string& text) {
    return parse_settings(text, "/home/hub");
}

// A line, or the beginning of one when "…" ends it.
testing::Matcher<std::string> is_line(const std::string& expected) {
    constexpr std::string_view rest = "…";
    if (expected.ends_with(rest))
        return testing::StartsWith(expected.substr(0, expected.size() - rest.size()));
    return testing::Eq(expected);
}

TEST(LoadSettingsTest, EveryCaseIsToldExactlyItsProblems) {
    const std::vector<Case> cases = cases_of(test::source_file("tests/config/bad_settings.txt"));
    std::set<std::string> names;
    for (const Case& one : cases) {
        SCOPED_TRACE(one.name);
        std::vector<testing::Matcher<std::string>> expected;
        for (const std::string& line : one.problems)
            expected.push_back(is_line(line));
        EXPECT_FALSE(expected.empty());
        EXPECT_THAT(problems_of(parse(one.settings)), testing::ElementsAreArray(expected));
        EXPECT_TRUE(names.insert(one.name).second) << "two cases have this name";
    }
    EXPECT_GE(cases.size(), 40u);
}

// A hub goes on with the settings from before, and people have to reach it.
TEST(LoadSettingsTest, WhereTheHubIsReachedIsKnownWhateverElseIsWrong) {
    const std::string hub = "[hub]\nname = \"h\"\nzone = \"Europe/Dublin\"\nsocket = \"run/hub.sock\"\n";
    for (const std::string& text :
         {hub, hub + "[[clinic]]\nurl = 7\n", hub + "[[person]]\nkey = \"juniper\nname = \"J\"\n"}) {
        const Loaded loaded = parse(text);
        EXPECT_FALSE(loaded.settings) << text;
        EXPECT_FALSE(loaded.problems.empty());
        ASSERT_TRUE(loaded.reach.has_value()) << text;
        EXPECT_EQ(loaded.reach->socket, "/home/hub/run/hub.sock");
        EXPECT_EQ(loaded.reach->zone.name(), "Europe/Dublin");
    }
    for (const std::string& text :
         {std::string(), std::string("[hub]\nzone = \"Europe/Dublin\"\n"),
          std::string("[hub]\nzone = \"Nowhere\"\nsocket = \"s\"\n"), "= 1\n" + hub}) {
        EXPECT_FALSE(parse(text).reach) << text;
    }
}

// The names of keys and tables in the sample, where each is explained.
std::set<std::string> words_of_the_format() {
    static const std::regex word(R"rx((?:^|\n)(?:#?([a-z_]+) *=|#?\[\[?([a-z_.]+)\]))rx");
    static const std::regex part("[a-z_]+");
    const std::string sample = test::source_file("config/nightferry.sample.toml");
    std::set<std::string> words{"token"};  // Explained in a line of another key.
    for (std::sregex_iterator it(sample.begin(), sample.end(), word), end; it != end; ++it) {
        const std::string path = (*it)[1].str() + (*it)[2].str();
        for (std::sregex_iterator one(path.begin(), path.end(), part); one != end; ++one)
            words.insert(one->str());
    }
    return words;
}

// The log tells it, so nothing that somebody wrote may be in it.
TEST(LoadSettingsTest, PlacesOfProblemsHoldWordsOfTheFormatOnly) {
    const std::set<std::string> known = words_of_the_format();
    EXPECT_GT(known.size(), 40u);
    static const std::regex step(R"rx(([^.\[\]]+)(\[[0-9]+\])?\.?)rx");
    std::size_t looked_at = 0;
    for (const Case& one : cases_of(test::source_file("tests/config/bad_settings.txt"))) {
        for (const Problem& problem : parse(one.settings).problems) {
            const std::string& place = problem.place;
            for (std::sregex_iterator it(place.begin(), place.end(), step), end; it != end; ++it, ++looked_at)
                EXPECT_TRUE(known.contains((*it)[1])) << one.name << ": " << place;
        }
    }
    EXPECT_GT(looked_at, 100u);
    const auto told =
        parse(tables(household) +
              "[[clinic]]\n[clinic.patients]\ntove = \"nobody\"\n[metrics]\ntoves = \"x\"\n[juniper]\n");
    std::set<std::string> places;
    for (const Problem& problem : told.problems)
        places.insert(problem.place);
    EXPECT_TRUE(places.contains("metrics") && places.contains("clinic[1].patients") && places.contains(""))
        << testing::PrintToString(places);
}

// Settings that are good and complete, but for what a test puts before or behind them.
Settings good(const std::string& text) {
    const Loaded loaded = parse(text);
    EXPECT_EQ(problems_of(loaded), Lines{});
    return loaded.settings.value();
}

Clinic clinic_with(const std::string& lines) {
    return good(tables(household) + "[[clinic]]\nname = \"nowhere\"\n" + lines +
                "\n[clinic.patients]\njuniper = \"Patient/1\"\n")
        .clinics.at(0);
}

const std::string url_line = "url = \"https://localhost/fhir\"\n";
const std::string signs_in = "authorization = {method = \"bearer\", token = \"token.txt\"}\n";

TEST(LoadSettingsTest, TheSampleIsGoodAsItStands) {
    const Loaded loaded =
        load_settings(std::filesystem::path(NIGHTFERRY_SOURCE_DIR) / "config/nightferry.sample.toml");
    EXPECT_EQ(problems_of(loaded), Lines{});
    const Settings& settings = loaded.settings.value();
    EXPECT_EQ(settings.household.hub, "home-7");
    EXPECT_EQ(settings.data, "/var/lib/nightferry/logbook");
    EXPECT_EQ(settings.inbox, "/var/lib/nightferry/inbox");
    EXPECT_EQ(settings.socket, "/run/nightferry/nightferry.sock");
    ASSERT_EQ(settings.clinics.size(), 1u);
    EXPECT_EQ(settings.clinics[0].base.host, "clinic.example");
}

// The sample with everything in it that is commented out.
std::string whole_sample() {
    std::istringstream sample(test::source_file("config/nightferry.sample.toml"));
    const std::regex setting(R"(^#((\[|[a-z_0-9-]+ = ").*))");
    std::string whole;
    for (std::string line; std::getline(sample, line);)
        whole += std::regex_replace(line, setting, "$1") + "\n";
    return whole;
}

TEST(LoadSettingsTest, TheSampleShowsTheDefaults) {
    const Settings settings = good(whole_sample());
    ASSERT_EQ(settings.plans.size(), 1u);
    const care::Plan& plan = settings.plans[0];
    const care::Plan defaults;
    EXPECT_EQ(plan.person, "person-1");
    EXPECT_EQ(plan.timeline.match, defaults.timeline.match);
    EXPECT_EQ(plan.timeline.timing, defaults.timeline.timing);
    EXPECT_EQ(plan.timeline.doubles, defaults.timeline.doubles);
    EXPECT_EQ(plan.adherence, defaults.adherence);
    EXPECT_EQ(plan.order, defaults.order);
    EXPECT_EQ(plan.lesions, defaults.lesions);
    EXPECT_EQ(plan.sample, care::SampleWindow{});
    EXPECT_EQ(plan.vials.at(0).rules, care::VialRules{});
    care::FlagRules flags = plan.flags;
    EXPECT_EQ(flags.levels, (std::map<care::FlagKind, std::optional<care::Level>>{
                                {care::FlagKind::late_dose, care::Level::note}}));
    EXPECT_EQ(flags.texts.size(), 1u);
    flags.levels.clear();
    flags.texts.clear();
    EXPECT_EQ(flags, defaults.flags);
    EXPECT_EQ(plan.sites.navel_margin_cm, defaults.sites.navel_margin_cm);
    EXPECT_EQ(plan.sites.spacing_cm, defaults.sites.spacing_cm);
    EXPECT_EQ(plan.sites.spacing_days, defaults.sites.spacing_days);
    EXPECT_EQ(plan.sites.alternate_sides, defaults.sites.alternate_sides);
    EXPECT_EQ(plan.sites.bruise_margin_cm, defaults.sites.bruise_margin_cm);
    EXPECT_EQ(plan.sites.lump_rest, defaults.sites.lump_rest);
}

TEST(LoadSettingsTest, WhatTheSampleOrdersIsRead) {
    const care::Plan plan = good(whole_sample()).plans.at(0);
    ASSERT_EQ(plan.regimen.orders.size(), 1u);
    const care::Order& order = plan.regimen.orders[0];
    EXPECT_EQ(to_text(order.from), "2026-10-12 08:00");
    EXPECT_EQ(order.zone.name(), "Europe/Dublin");
    ASSERT_EQ(order.doses.size(), 2u);
    EXPECT_EQ(order.doses[1].clock, std::chrono::hours{20});
    EXPECT_EQ(order.doses[1].amount, (entry::Amount{Decimal(18, 2), entry::Unit::millilitre}));
    ASSERT_TRUE(plan.regimen.end);
    EXPECT_EQ(to_text(*plan.regimen.end), "2027-03-31T23:00:00Z");
    ASSERT_EQ(plan.regimen.holds.size(), 1u);
    EXPECT_EQ(to_text(plan.regimen.holds[0].from), "2026-10-15T19:00:00Z");
    EXPECT_EQ(to_text(plan.regimen.holds[0].told), "2026-10-15T16:05:00Z");
    EXPECT_EQ(plan.regimen.holds[0].instructed_by, "clinic nurse");
    ASSERT_EQ(plan.sites.exclusions.size(), 1u);
    EXPECT_EQ(plan.sites.exclusions[0].radius_cm, Decimal(2, 0));
    EXPECT_EQ(plan.sites.catheters.size(), 1u);
    EXPECT_EQ(plan.sites.regions.size(), 2u);
    EXPECT_EQ(plan.sites.rotation.size(), 4u);
    EXPECT_EQ(plan.syringes.at("enoxaparin-100").scale.capacity_ml, Decimal(3, 1));
    EXPECT_EQ(plan.flags.texts.at(care::Level::contact).substr(0, 8), "Ring the");
}

TEST(LoadSettingsTest, TheDemoHouseholdMeansWhatItSays) {
    const std::filesystem::path folder = std::filesystem::path(NIGHTFERRY_SOURCE_DIR) / "config/demo";
    const Loaded loaded = load_settings(folder / "household.toml");
    EXPECT_EQ(problems_of(loaded), Lines{});
    const Settings& settings = loaded.settings.value();
    EXPECT_EQ(settings.household.hub, "exampleton-home");
    EXPECT_EQ(settings.household.zone.name(), "Europe/Dublin");
    EXPECT_EQ(settings.identifier_system, "urn:example:exampleton-home");
    EXPECT_EQ(settings.data, folder / "data");
    EXPECT_EQ(settings.inbox, folder / "inbox");
    EXPECT_EQ(settings.socket, folder / "nightferry.sock");
    ASSERT_NE(settings.household.person("juniper"), nullptr);
    EXPECT_EQ(settings.household.person("juniper")->name, "Juniper Exampleton-Test");
    EXPECT_NE(settings.household.carer("tove"), nullptr);
    ASSERT_EQ(settings.clinics.size(), 1u);
    const Clinic& clinic = settings.clinics[0];
    EXPECT_EQ(clinic.name, "nowhere");
    EXPECT_EQ(clinic.trust, folder / "clinic-ca.pem");
    EXPECT_EQ(clinic.device, "Device/hub");
    const auto& patient = std::get<PatientIdentifier>(clinic.patients.at("juniper"));
    EXPECT_EQ(patient.system, "urn:example:nowhere-clinic");
    EXPECT_EQ(patient.value, "TEST-000417");
    EXPECT_EQ(clinic.carers, (std::map<std::string, std::string>{{"marlow", "RelatedPerson/marlow"},
                                                                 {"tove", "RelatedPerson/tove"}}));
}

TEST(LoadSettingsTest, AHubNeedsNoClinic) {
    const Settings settings = good(tables(household));
    EXPECT_TRUE(settings.clinics.empty());
    EXPECT_EQ(settings.household.carer("self")->same_as, "juniper");
}

TEST(LoadSettingsTest, WhatAClinicLeavesOutHasADefault) {
    const Clinic clinic = clinic_with(url_line);
    EXPECT_EQ(clinic.trust, std::nullopt);
    EXPECT_EQ(clinic.window_opens, std::chrono::hours(1));
    EXPECT_EQ(clinic.window_closes, std::chrono::hours(5));
    EXPECT_EQ(clinic.device, "");
    EXPECT_TRUE(clinic.carers.empty());
    EXPECT_EQ(std::get<std::string>(clinic.patients.at("juniper")), "Patient/1");
}

TEST(LoadSettingsTest, PathsAreRelativeToTheFolderOfTheFile) {
    const test::TemporaryFolder folder;
    std::string text = tables(household);
    text.replace(text.find("\"inbox\""), 7, "\"/srv/inbox\"");
    test::write_file(folder / "home.toml", text);
    const Loaded loaded = load_settings(folder / "home.toml");
    EXPECT_EQ(problems_of(loaded), Lines{});
    EXPECT_EQ(loaded.settings.value().data, folder / "data");
    EXPECT_EQ(loaded.settings->socket, folder / "hub.sock");
    EXPECT_EQ(loaded.settings->inbox, "/srv/inbox");
    EXPECT_EQ(clinic_with(url_line + "trust = \"ca/clinic.pem\"").trust, "/home/hub/ca/clinic.pem");
}

TEST(LoadSettingsTest, AddressesAreTakenApart) {
    const auto parts = [](const std::string& url) {
        const WebAddress base = clinic_with("url = \"" + url + "\"\n" + signs_in).base;
        return std::string(base.tls ? "tls " : "plain ") + base.host + " " + std::to_string(base.port) + " " +
               base.path;
    };
    EXPECT_EQ(parts("https://clinic.example"), "tls clinic.example 443 ");
    EXPECT_EQ(parts("https://clinic.example/"), "tls clinic.example 443 ");
    EXPECT_EQ(parts("https://clinic.example:8443/fhir/r4//"), "tls clinic.example 8443 /fhir/r4");
    EXPECT_EQ(parts("https://192.0.2.7/fhir"), "tls 192.0.2.7 443 /fhir");  // RFC 5737: nobody's address.
    EXPECT_EQ(parts("https://[2001:db8::7]:8443/fhir"), "tls 2001:db8::7 8443 /fhir");  // RFC 3849: the same.
    EXPECT_EQ(parts("http://localhost/fhir"), "plain localhost 80 /fhir");
    EXPECT_EQ(parts("http://127.0.0.1:8080/fhir"), "plain 127.0.0.1 8080 /fhir");
    EXPECT_EQ(parts("http://[::1]:8080"), "plain ::1 8080 ");
}

TEST(LoadSettingsTest, WayInIsReadWhole) {
    const Clinic clinic = clinic_with(
        "url = \"https://clinic.example/fhir\"\n"
        "pins = \"AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=, "
        "BBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBB=\"\n"
        "certificate = \"hub.pem\"\ncertificate_key = \"credential:hub-key\"\n"
        "proxy = \"http://proxy.example:8080\"\nproxy_credentials = \"/etc/proxy.txt\"\n"
        "[clinic.authorization]\nmethod = \"private_key_jwt\"\nclient_id = \"hub-7\"\nkey = "
        "\"keys/now.pem\"\n"
        "next_key = \"keys/next.pem\"\nkey_id = \"now\"\nnext_key_id = \"next\"\nalgorithm = \"ES384\"\n"
        "token_endpoint = \"https://login.example/token\"\nscope = \"system/*.cruds\"");
    EXPECT_THAT(clinic.pins, testing::SizeIs(2));
    EXPECT_EQ(clinic.certificate, "/home/hub/hub.pem");
    EXPECT_EQ(clinic.certificate_key, "credential:hub-key");
    EXPECT_EQ(clinic.proxy->host, "proxy.example");
    EXPECT_EQ(clinic.proxy->port, 8080);
    EXPECT_EQ(clinic.proxy->credentials, "/etc/proxy.txt");
    const Authorization& authorization = clinic.authorization;
    EXPECT_EQ(authorization.method, Authorization::Method::private_key_jwt);
    EXPECT_EQ(authorization.client_id, "hub-7");
    EXPECT_EQ(authorization.key, "/home/hub/keys/now.pem");
    EXPECT_EQ(authorization.next_key, "/home/hub/keys/next.pem");
    EXPECT_EQ(authorization.key_id, "now");
    EXPECT_EQ(authorization.next_key_id, "next");
    EXPECT_EQ(authorization.algorithm, "ES384");
    EXPECT_EQ(authorization.token_endpoint, "https://login.example/token");
    EXPECT_EQ(authorization.scope, "system/*.cruds");
}

TEST(LoadSettingsTest, WindowsMayRunPastMidnight) {
    const auto window = [](const std::string& text) {
        const Clinic clinic = clinic_with(url_line + "window = \"" + text + "\"");
        return std::pair(clinic.window_opens.count(), clinic.window_closes.count());
    };
    EXPECT_EQ(window("22:30-04:00"), std::pair(22 * 60L + 30, 4 * 60L));
    EXPECT_EQ(window("00:00 - 23:59"), std::pair(0L, 23 * 60L + 59));
    EXPECT_EQ(window("1:00-5:30"), std::pair(60L, 5 * 60L + 30));
}

TEST(LoadSettingsTest, SendingAsItHappensIsForClinicsThatWantIt) {
    EXPECT_FALSE(clinic_with(url_line).as_it_happens);
    EXPECT_FALSE(clinic_with(url_line + "as_it_happens = \"no\"").as_it_happens);
    EXPECT_TRUE(clinic_with(url_line + "as_it_happens = \"yes\"").as_it_happens);
}

TEST(LoadSettingsTest, OrdersAreReadOnlyWhereTheSettingsAskForIt) {
    EXPECT_FALSE(clinic_with(url_line).orders);
    EXPECT_TRUE(clinic_with(url_line + "orders = \"yes\"").orders);
    const Settings settings =
        good(tables("hub person carer") +
             "[[medicine]]\nkey = \"m\"\nsubstance = \"enoxaparin\"\nstrength = \"100 mg/mL\"\n"
             "codes = \"urn:a|1, http://b.example/c|2\"\nordered_as = \"The Vial, enox\"\n");
    const entry::Medicine& medicine = settings.household.medicines.at(0);
    ASSERT_EQ(medicine.codes.size(), 2U);
    EXPECT_EQ(medicine.codes[1].system, "http://b.example/c");
    EXPECT_EQ(medicine.codes[1].code, "2");
    EXPECT_THAT(medicine.ordered_as, testing::ElementsAre("the vial", "enox"));
}

TEST(LoadSettingsTest, StrengthsAreInMilligramsOrInternationalUnits) {
    const auto strength = [](const std::string& text) {
        const Settings settings =
            good(tables("hub person carer") +
                 "[[medicine]]\nkey = \"m\"\nsubstance = \"enoxaparin\"\nstrength = \"" + text + "\"\n");
        const entry::Medicine& medicine = settings.household.medicines.at(0);
        return medicine.strength.to_string() +
               (medicine.strength_unit == entry::Unit::milligram ? " mg" : " IU");
    };
    EXPECT_EQ(strength("100 mg/mL"), "100 mg");
    EXPECT_EQ(strength("12,5 mg / ml"), "12.5 mg");
    EXPECT_EQ(strength("10000 IU/mL"), "10000 IU");
    EXPECT_EQ(strength("10000 [IU]/mL"), "10000 IU");  // As UCUM writes it.
}

TEST(LoadSettingsTest, FilesOfOtherSystemsAreRead) {
    std::string text = "\xEF\xBB\xBF";
    for (const char c : tables(household))
        text += c == '\n' ? "\r\n" : std::string(1, c);
    EXPECT_EQ(good(text).household.hub, "home-7");
}

TEST(LoadSettingsTest, NamesUsedTwiceAreRefused) {
    const std::string clinic =
        "[[clinic]]\nname = \"nowhere\"\n" + url_line + "patients = { juniper = \"Patient/1\" }\n";
    std::vector<std::pair<std::string, std::string>> told;
    for (const Problem& problem :
         parse(tables(std::string(household) + " person carer medicine") + clinic + clinic).problems)
        told.emplace_back(problem.key, problem.what);
    EXPECT_THAT(told, testing::UnorderedElementsAre(
                          testing::Pair("person", "the key 'juniper' is used twice"),
                          testing::Pair("carer", "the key 'marlow' is used twice"),
                          testing::Pair("carer", "the key 'self' is used twice"),
                          testing::Pair("medicine", "the key 'enoxaparin-100' is used twice"),
                          testing::Pair("clinic", "the name 'nowhere' is used twice")));
}

TEST(LoadSettingsTest, AZoneNobodyHasIsRefusedByItsName) {
    std::string text = tables(household);
    text.replace(text.find("Europe/Dublin"), 13, "Dublin");
    const Loaded loaded = parse(text);
    ASSERT_EQ(loaded.problems.size(), 1u);
    EXPECT_EQ(loaded.problems[0].key, "hub.zone");
    EXPECT_THAT(loaded.problems[0].what,
                testing::StartsWith("time zone 'Dublin' is not in the time zone data of this system"));
}

TEST(LoadSettingsTest, TheLongestSocketPathTheSystemAllowsIsGood) {
    std::string text = tables(household);
    const std::size_t room =
        107 - std::string_view("/home/hub/").size();  // sun_path of unix(7), less the final zero.
    text.replace(text.find("hub.sock"), 8, std::string(room, 's'));
    EXPECT_EQ(good(text).socket.native().size(), 107u);
}

TEST(LoadSettingsTest, LogAndFiguresAreAsTheyAreWithoutASetting) {
    const Settings settings = good(tables(household));
    EXPECT_EQ(settings.log, LogForm::automatic);
    EXPECT_FALSE(settings.metrics);
    EXPECT_FALSE(settings.page);
    EXPECT_EQ(good(whole_sample()).log, LogForm::automatic) << "the sample shows the default";
}

TEST(LoadSettingsTest, EveryFormOfTheLogIsKnown) {
    for (const auto& [word, form] :
         {std::pair{"auto", LogForm::automatic}, std::pair{"text", LogForm::text},
          std::pair{"json", LogForm::json}, std::pair{"journal", LogForm::journal}}) {
        std::string text = tables(household);
        text.replace(text.find("socket ="), 0, "log = \"" + std::string(word) + "\"\n");
        EXPECT_EQ(good(text).log, form);
    }
}

TEST(LoadSettingsTest, FiguresAreReadAtTheAddressThatIsWritten) {
    const auto listening = [](const std::string& lines) {
        const auto metrics = good(tables(household) + "[metrics]\nlisten = " + lines + "\n").metrics.value();
        return metrics.address + " " + std::to_string(metrics.port);
    };
    EXPECT_EQ(listening("\"127.0.0.1:9464\""), "127.0.0.1 9464");
    EXPECT_EQ(listening("\"127.8.9.1:65535\""), "127.8.9.1 65535")
        << "all of 127.0.0.0/8 stays here, RFC 1122";
    EXPECT_EQ(listening("\"[::1]:9464\""), "::1 9464");
    EXPECT_EQ(listening("\"192.168.1.7:9464\"\nother_machines = \"yes\""), "192.168.1.7 9464");
    EXPECT_EQ(listening("\"[fd00::7]:9464\"\nother_machines = \"yes\""), "fd00::7 9464");
}

PageListener page_at(const std::string& address, const std::string& lines = {}) {
    const std::string page = "[page]\naddress = \"" + address +
                             "\"\ncertificate = \"page.pem\"\nkey = \"credential:page-key\"\n" + lines;
    return good(tables(household) + page).page.value();
}

TEST(LoadSettingsTest, ThePageIsAtAnAddressOfTheHomeNetwork) {
    EXPECT_FALSE(good(tables(household)).page);
    const PageListener page = page_at("192.168.1.10:8443");
    EXPECT_EQ(page.address, "192.168.1.10");
    EXPECT_EQ(page.port, 8443);
    EXPECT_EQ(page.certificate, "/home/hub/page.pem");
    EXPECT_EQ(page.key, "credential:page-key");
    EXPECT_EQ(page.language, texts::Language::english);
    EXPECT_EQ(page_at("[::]:8443", "language = \"de\"\n").language, texts::Language::german);
    // RFC 1918, RFC 3927, RFC 6598, RFC 4193, RFC 4291 section 2.5.6: first and last of each, and every one.
    for (const char* address :
         {"127.0.0.1", "10.0.0.0", "10.255.255.255", "172.16.0.0", "172.31.255.255", "192.168.0.0",
          "192.168.255.255", "169.254.1.1", "100.64.0.0", "100.127.255.255", "0.0.0.0", "[::1]", "[::]",
          "[fc00::1]", "[fdff:ffff::1]", "[fe80::1]"})
        EXPECT_EQ(page_at(std::string(address) + ":8443").port, 8443) << address;
}

// Just beside those.
TEST(LoadSettingsTest, ThePageIsAtNoAddressOfTheOpenInternet) {
    for (const char* address :
         {"9.255.255.255", "11.0.0.0", "172.15.255.255", "172.32.0.0", "192.167.255.255", "192.169.0.0",
          "100.63.255.255", "100.128.0.0", "0.0.0.1", "[fe00::1]", "[fec0::1]", "[::2]"}) {
        const auto loaded = parse(tables(household) + "[page]\naddress = \"" + address +
                                  ":8443\"\ncertificate = \"page.pem\"\nkey = \"page-key.pem\"\n");
        EXPECT_THAT(problems_of(loaded),
                    testing::ElementsAre(testing::HasSubstr("is an address of the open internet")))
            << address;
    }
}

TEST(LoadSettingsTest, FileThatIsNoneIsOneProblemWithoutALine) {
    const test::TemporaryFolder folder;
    const Lines expected{"nightferry.toml: the file cannot be read; check its path and permissions"};
    EXPECT_EQ(problems_of(load_settings(folder / "missing.toml")), expected);
    EXPECT_EQ(problems_of(load_settings(folder.path())), expected);
    test::write_file(folder / "large.toml", tables(household) + std::string(1 << 20, '#'));
    EXPECT_EQ(problems_of(load_settings(folder / "large.toml")),
              Lines{"nightferry.toml: the file is larger than 1 MiB"});
}

TEST(LoadSettingsTest, ProblemsAreToldWithFileLineAndKeyWhereTheyHaveThem) {
    EXPECT_EQ(to_line("/etc/hub.toml", {12, "clinic[1].url", "is missing"}),
              "/etc/hub.toml:12: clinic[1].url: is missing");
    EXPECT_EQ(to_line("/etc/hub.toml", {12, "", "is broken"}), "/etc/hub.toml:12: is broken");
    EXPECT_EQ(to_line("/etc/hub.toml", {0, "", "is missing"}), "/etc/hub.toml: is missing");
}

}  // namespace

}  // namespace nightferry::config
