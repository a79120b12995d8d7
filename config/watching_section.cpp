// How those who watch over services see the hub: the form of its log, and where figures can be read.
#include <algorithm>
#include <array>

#include "config/regimen_section.hpp"
#include "config/sections.hpp"
#include "daemon/core/words.hpp"

namespace nightferry::config {

namespace {

constexpr std::array<std::pair<std::string_view, LogForm>, 4> forms{{{"auto", LogForm::automatic},
                                                                     {"text", LogForm::text},
                                                                     {"json", LogForm::json},
                                                                     {"journal", LogForm::journal}}};

}  // namespace

std::string_view word_for(LogForm form) {
    return std::ranges::find(forms, form, &std::pair<std::string_view, LogForm>::second)->first;
}

LogForm read_log_form(TableReader& hub) {
    const auto text = hub.text("log");
    if (!text) return LogForm::automatic;
    std::array<std::string_view, forms.size()> words;
    for (std::size_t i = 0; i < forms.size(); ++i) {
        words[i] = forms[i].first;
        if (*text == forms[i].first) return forms[i].second;
    }
    hub.problem("log", in_quotes(*text) + " is no form of the log; expected " + any_of(words) + "." +
                           did_you_mean(*text, words));
    return LogForm::automatic;
}

std::optional<MetricsListener> read_metrics(TableReader& root, std::vector<Problem>& problems) {
    const toml::table* found = root.table("metrics");
    if (found == nullptr) return std::nullopt;
    TableReader table(*found, "metrics", problems);
    const std::string text = table.need_text("listen", "an address and a port, like \"127.0.0.1:9464\"");
    const bool may_leave = read_yes_or_no(table, "other_machines").value_or(false);
    table.report_leftovers();
    if (text.empty()) return std::nullopt;
    const auto listening = read_listening(text);
    if (!listening) {
        table.problem("listen", in_quotes(text) +
                                    " is no address with a port; expected one like \"127.0.0.1:9464\" or "
                                    "\"[::1]:9464\", in numbers");
        return std::nullopt;
    }
    if (listening->reach != Listening::Reach::this_machine && !may_leave) {
        table.problem("listen",
                      in_quotes(text) +
                          " can be reached from other machines, without TLS and without a password; "
                          "use 127.0.0.1, or write other_machines = \"yes\" if that is meant");
    }
    return MetricsListener{listening->address, listening->port};
}

}  // namespace nightferry::config
