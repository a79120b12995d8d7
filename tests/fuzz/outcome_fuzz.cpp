// Whatever bytes come back from a server or a proxy become one readable line of bounded length.
#include <algorithm>
#include <cstdint>
#include <string>
#include <string_view>

#include "fhir/exchange/issue_class.hpp"
#include "fhir/exchange/outcome.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/utf8.hpp"
#include "tests/fuzz/require.hpp"

namespace {

using namespace nightferry::fhir;
using nightferry::test::require;

void check_line(const std::string& line, std::size_t limit) {
    constexpr std::size_t ellipsis = 3;
    require(line.size() <= limit + ellipsis, "words are cut to the limit");
    const auto is_control = [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7F; };
    require(std::none_of(line.begin(), line.end(), is_control), "words are one line");
    require(json::find_invalid_utf8(line) == std::string_view::npos, "words are valid UTF-8");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string_view body(reinterpret_cast<const char*>(data), size);
    for (const std::size_t limit : {std::size_t{500}, std::size_t{40}})
        check_line(exchange::server_words(body, limit), limit);
    const auto document = json::read(body);
    if (!document) return 0;
    check_line(exchange::outcome_words(document->root(), 500), 500);
    (void)exchange::class_of(exchange::outcome_issues(document->root()));
    return 0;
}
