// Answers as bytes, whole and cut short, and those that a proxy gives in its own name.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "daemon/core/http.hpp"
#include "tests/peers/fault_proxy/plan.hpp"

namespace nightferry::test {

enum class Length { promised, chunked, none };

std::string to_wire(const HttpAnswer& answer);

// The answer without some of its last bytes; how many depends on `detail`. With Length::promised the header
// names the whole length, with Length::chunked the last chunk is missing, with Length::none nothing tells
// that more was to come.
std::string cut_short(const HttpAnswer& answer, Length length, std::uint32_t detail);

// What a gateway says when it has no answer of the server: a status with a page for people.
HttpAnswer gateway_answer(int status, std::uint32_t detail);

// The gateway's answer that this fault is about, if it is one and comes at this time.
std::optional<HttpAnswer> own_answer(const Draw& draw, bool server_has_acted);

}  // namespace nightferry::test
