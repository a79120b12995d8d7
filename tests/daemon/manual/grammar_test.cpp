#include "daemon/manual/grammar.hpp"

#include <gmock/gmock.h>

#include "tests/daemon/manual/sample_program.hpp"

namespace nightferry::manual {
namespace {

using ::testing::ElementsAre;

Option option(std::vector<std::string> names, std::string meaning) {
    Option made;
    made.names = std::move(names);
    made.meaning = std::move(meaning);
    return made;
}

TEST(GrammarTest, OptionsAreReadWithAllThatTheParserKnows) {
    test::SampleProgram program;
    const Command grammar = read_grammar(program.app);
    Option settings = option({"--settings"}, "the settings file");
    settings.value = "FILE";
    settings.standard = "/etc/ferry";
    settings.environment = "FERRY_SETTINGS";
    EXPECT_EQ(grammar.name, "ferry");
    EXPECT_THAT(grammar.options,
                ElementsAre(option({"-h", "--help"}, "Print this help message and exit"), settings));
}

TEST(GrammarTest, CommandsAreReadWithTheirOwnOptionsOnly) {
    test::SampleProgram program;
    const Command grammar = read_grammar(program.app);
    ASSERT_EQ(grammar.commands.size(), 2u);
    Option limit = option({"-l", "--limit"}, "at most so many");
    limit.value = "INT";
    limit.limits = "1 to 100";
    limit.standard = "10";
    EXPECT_THAT(grammar.commands[0].options, ElementsAre(limit));
    EXPECT_EQ(grammar.commands[0].footer, "") << "the program's own";
}

TEST(GrammarTest, ChoicesAndArgumentsAreRead) {
    test::SampleProgram program;
    const Command load = read_grammar(program.app).commands.at(1);
    Option kind = option({"--kind"}, "what they are");
    kind.value = "TEXT";
    kind.choices = {"crate", "barrel"};
    kind.needed = true;
    Option file = option({"file"}, "files with a list of them");
    file.value = "FILE";
    file.needed = true;
    file.repeated = true;
    EXPECT_THAT(load.options, ElementsAre(kind));
    EXPECT_THAT(load.arguments, ElementsAre(file));
    EXPECT_EQ(load.footer, "\n.lists are read first.\n");
}

TEST(GrammarTest, BlankLinesKeepParagraphsApart) {
    EXPECT_THAT(paragraphs("\na\nb\n\n\nc\n"), ElementsAre("a\nb", "c"));
    EXPECT_TRUE(paragraphs("").empty());
}

}  // namespace
}  // namespace nightferry::manual
