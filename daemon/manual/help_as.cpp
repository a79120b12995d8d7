#include "daemon/manual/help_as.hpp"

#include <CLI/CLI.hpp>
#include <utility>

#include "daemon/manual/completion.hpp"

namespace nightferry::manual {

void offer_help_as(CLI::App& app, Page page) {
    const auto print = [&app, page = std::move(page)](const std::string& form) {
        const Command grammar = read_grammar(app);
        std::string text = form == "man" ? manual_page(grammar, page) : bash_completion(grammar);
        text.pop_back();  // The line break at its end comes from whoever prints it.
        // What CLI11 offers to end a command line well with a text on standard output.
        throw CLI::CallForVersion(text, 0);
    };
    app.add_option_function<std::string>("--help-as", print,
                                         "print this help as a manual page or as a completion for bash")
        ->check(CLI::IsMember({"man", "bash"}))
        ->option_text("man|bash");
}

}  // namespace nightferry::manual
