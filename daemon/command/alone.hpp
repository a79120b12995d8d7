// What the local API answers where no daemon runs: from the logbook itself, which nobody else can use
// meanwhile.
#pragma once

#include <memory>

#include "config/settings.hpp"
#include "daemon/core/http.hpp"
#include "daemon/core/result.hpp"

namespace nightferry::command {

class Alone {
 public:
    // Errors as logbook::open() gives them. The settings outlive this.
    static Result<std::unique_ptr<Alone>> open(const config::Settings& settings);
    // Leaves the logbook as after a clean end, if the disk allows.
    ~Alone();

    HttpAnswer answer(const HttpRequest& request);

 private:
    struct Hub;
    explicit Alone(std::unique_ptr<Hub> hub);
    std::unique_ptr<Hub> hub_;
};

}  // namespace nightferry::command
