// What bash makes of it, with the real command lines, is in tests/peers/manual.test.mjs.
#include "daemon/manual/completion.hpp"

#include <gmock/gmock.h>

#include "tests/daemon/manual/sample_program.hpp"

namespace nightferry::manual {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

std::string completion() {
    test::SampleProgram program;
    return bash_completion(read_grammar(program.app));
}

TEST(CompletionTest, EveryCommandHasItsOwnOptionsAndTheProgramsOnes) {
    EXPECT_THAT(completion(),
                HasSubstr("        list)\n            options='-l --limit -h --help --settings'\n"));
    EXPECT_THAT(completion(), HasSubstr("            words='list load'\n"));
}

TEST(CompletionTest, ValuesAreCompletedWhereTheParserKnowsThem) {
    EXPECT_THAT(completion(), HasSubstr("        load,--kind)\n            _ferry_words 'crate barrel'\n"));
    EXPECT_THAT(completion(), HasSubstr("        *,--settings)\n            _ferry_files\n"));
    EXPECT_THAT(completion(), HasSubstr("        list,-l|list,--limit)\n            return ;;\n"));
}

TEST(CompletionTest, NothingOfItsPatternIsLeft) {
    for (const char* place : {"FUNCTION", "PROGRAM", "COMMANDS", "VALUES", "WORDS "})
        EXPECT_THAT(completion(), Not(HasSubstr(place)));
    EXPECT_THAT(completion(), HasSubstr("\ncomplete -F _ferry ferry\n"));
}

}  // namespace
}  // namespace nightferry::manual
