// The answers that pages go out in. Used inside this room only.
#pragma once

#include <string>
#include <string_view>

#include "daemon/core/http.hpp"

namespace nightferry::page {

inline constexpr std::string_view entries_path = "/entry/";

// A page that nobody keeps, in which nothing runs but what this hub sends, and that nobody else can show.
HttpAnswer page(int status, std::string document);
// Look there instead (RFC 9110 section 15.4.4).
HttpAnswer see(std::string address);

}  // namespace nightferry::page
