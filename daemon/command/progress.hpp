// How far something has come, for whoever sits at a terminal and would wonder: a line that is written over
// and goes away at the end.
#pragma once

#include <functional>
#include <string>
#include <string_view>

#include "daemon/core/ports.hpp"

namespace nightferry::command {

class Progress {
 public:
    using Screen = std::function<void(std::string_view)>;

    // Outlived by the clock. Where nobody looks there is no screen.
    Progress(const Clock& clock, Screen screen);
    Progress(const Progress&) = delete;
    Progress& operator=(const Progress&) = delete;
    ~Progress();

    // To be called as often as there is something new to say: it is shown once a second has passed, and five
    // times a second at most.
    void tell(std::string_view words);
    // At once, before something that may take long and says nothing meanwhile.
    void tell_now(std::string_view words);

 private:
    const Clock& clock_;
    const Screen screen_;
    const Instant began_;
    Instant told_;
    bool is_shown_ = false;
};

// Standard error, where it is a terminal that lines can be written over on; otherwise none.
Progress::Screen screen_of_this_process();

}  // namespace nightferry::command
