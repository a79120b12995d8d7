// The log port. An event has a stable name and a few facts; entries, names and clinics' words never go in,
// because logs are read by people who must not see health data.
#pragma once

#include <initializer_list>
#include <string>
#include <string_view>
#include <utility>

namespace nightferry {

enum class Level { info, warning, error };

class Log {
 public:
    using Fact = std::pair<std::string_view, std::string>;
    virtual ~Log() = default;
    virtual void event(Level level, std::string_view name, std::initializer_list<Fact> facts = {}) = 0;
};

}  // namespace nightferry
