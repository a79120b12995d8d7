// Logs one line per event to standard error, where the service manager or a terminal picks it up.
#pragma once

#include "daemon/core/log.hpp"
#include "daemon/core/ports.hpp"

namespace nightferry::service {

class TextLog final : public Log {
 public:
    explicit TextLog(Clock& clock) : clock_(clock) {}
    void event(Level level, std::string_view name, std::initializer_list<Fact> facts) override;

 private:
    Clock& clock_;
};

}  // namespace nightferry::service
