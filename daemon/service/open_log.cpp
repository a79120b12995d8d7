#include "daemon/service/open_log.hpp"

#include "daemon/net/log_outlets.hpp"
#include "daemon/watching/hub_log.hpp"

namespace nightferry::service {

namespace {

watching::LogForm form_of(config::LogForm form) {
    switch (form) {
        case config::LogForm::automatic:
            return net::is_standard_error_the_journal() ? watching::LogForm::journal
                                                        : watching::LogForm::text;
        case config::LogForm::text:
            return watching::LogForm::text;
        case config::LogForm::json:
            return watching::LogForm::json;
        case config::LogForm::journal:
            return watching::LogForm::journal;
    }
    return watching::LogForm::text;
}

watching::JournalAnswer answer_of(net::Journal::Sent sent) {
    switch (sent) {
        case net::Journal::Sent::yes:
            return watching::JournalAnswer::taken;
        case net::Journal::Sent::held_up:
            return watching::JournalAnswer::held_up;
        case net::Journal::Sent::no:
            return watching::JournalAnswer::none;
    }
    return watching::JournalAnswer::none;
}

}  // namespace

std::unique_ptr<Log> open_log(config::LogForm form, Clock& clock) {
    auto journal = std::make_shared<net::Journal>();
    watching::LogOutlets outlets{
        net::write_to_standard_error,
        [journal](std::string_view entry) { return answer_of(journal->send(entry)); },
        net::is_standard_error_the_journal()};
    return std::make_unique<watching::HubLog>(form_of(form), std::move(outlets), clock);
}

}  // namespace nightferry::service
