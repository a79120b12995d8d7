// The macros are those of man(7) as Debian's groff and mandoc document them.
#include "daemon/manual/page.hpp"

#include <gmock/gmock.h>

#include "tests/daemon/manual/sample_program.hpp"

namespace nightferry::manual {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;
using ::testing::StartsWith;

std::string page() {
    test::SampleProgram program;
    return manual_page(read_grammar(program.app), {"1", "carry things", "ferry 2.0", {"boat(7)", "quay(7)"}});
}

TEST(PageTest, HeadAndNameAreThoseOfTheProgram) {
    EXPECT_THAT(page(), StartsWith(".TH FERRY 1 \"\" \"ferry 2.0\"\n.SH NAME\nferry \\- carry things\n"));
}

TEST(PageTest, OptionsStandWithWhatHoldsWithoutThem) {
    EXPECT_THAT(page(),
                HasSubstr("\n\\fB\\-\\-settings\\fR \\fIFILE\\fR\nthe settings file (/etc/ferry if left "
                          "out; or the variable\n\\fBFERRY_SETTINGS\\fR)\n"));
    EXPECT_THAT(page(), HasSubstr("at most so many (1 to 100; 10 if left out)\n"));
    EXPECT_THAT(page(), HasSubstr("what they are (one of crate, barrel; needed)\n"));
}

TEST(PageTest, CommandsStandWithTheirArguments) {
    EXPECT_THAT(page(), HasSubstr(".SS \\fBload\\fR [\\fIoptions\\fR] \\fIfile\\fR ...\nload things.\n"));
}

TEST(PageTest, FooterFallsIntoItsSections) {
    EXPECT_THAT(page(), HasSubstr(".SH EXAMPLES\n.nf\n  ferry list \\-\\-limit 5\n.fi\n"));
    EXPECT_THAT(page(),
                HasSubstr(".SH EXIT STATUS\n.TP\n\\fB0\\fR\ndone\n.TP\n\\fB64\\fR\nwrong command line\n"));
    EXPECT_THAT(page(), HasSubstr(".PP\nIt never swims.\n.SH OPTIONS\n"));
    EXPECT_THAT(page(), HasSubstr(".SH SEE ALSO\n\\fBboat\\fR(7),\n\\fBquay\\fR(7)\n"));
}

TEST(PageTest, TextIsNeverTakenForACommandOfRoff) {
    EXPECT_THAT(page(), HasSubstr("\n\\&.lists are read first.\n"));
    EXPECT_THAT(page(), HasSubstr("\n\\&'ferry list' shows them.\n"));
    EXPECT_THAT(page(), Not(HasSubstr("\n.lists")));
}

}  // namespace
}  // namespace nightferry::manual
