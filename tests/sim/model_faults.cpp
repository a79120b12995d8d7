// The answers of a model clinic that misbehaves as a whole.
#include <array>

#include "tests/sim/model_answers.hpp"
#include "tests/sim/model_text.hpp"

namespace nightferry::sim {

namespace {

constexpr std::array<std::string_view, 6> absurd_waits{
    "soon", "-5", "99999999999999999999999", "31556952000000", "", "Sun, 99 Foo 2026 99:99:99 GMT"};

HttpAnswer html(int status) {
    return {status, {{"Content-Type", "text/html"}}, std::string(web_page(status))};
}

HttpAnswer waiting(int status, std::string_view retry_after) {
    HttpAnswer answer = refusal(status, "throttled", "please come back later");
    answer.headers.emplace_back("Retry-After", retry_after);
    return answer;
}

}  // namespace

HttpAnswer error_answer(Misbehaviour misbehaviour, std::string_view retry_date, std::uint64_t turn) {
    switch (misbehaviour) {
        case Misbehaviour::before_400:
            return refusal(400, "invalid", "this could not be read");
        case Misbehaviour::before_401:
            return refusal(401, "login", "sign in first");
        case Misbehaviour::before_403:
            return refusal(403, "forbidden", "not for you");
        case Misbehaviour::before_404:
            return html(404);
        case Misbehaviour::before_408:
        case Misbehaviour::after_408:
            return refusal(408, "timeout", "it took too long");
        case Misbehaviour::before_409:
        case Misbehaviour::after_409:
            return refusal(409, "conflict", "somebody else is writing");
        case Misbehaviour::before_412:
            return refusal(412, "conflict", "a condition does not hold");
        case Misbehaviour::before_429_seconds:
            return waiting(429, "7");
        case Misbehaviour::before_429_date:
            return waiting(429, retry_date);
        case Misbehaviour::before_429_absurd:
            return waiting(429, absurd_waits[turn % absurd_waits.size()]);
        case Misbehaviour::before_429_bare:
            return refusal(429, "throttled", "too many requests");
        case Misbehaviour::before_200_html:
            return html(200);
        case Misbehaviour::before_502_html:
        case Misbehaviour::after_502_html:
            return html(502);
        case Misbehaviour::before_503:
        case Misbehaviour::after_503:
            return {503, {}, {}};
        case Misbehaviour::before_503_seconds:
            return waiting(503, "7");
        case Misbehaviour::before_504:
        case Misbehaviour::after_504:
            return {504, {{"Content-Type", "text/plain"}}, "gateway timeout"};
        default:
            return refusal(500, "exception", "something broke");
    }
}

HttpAnswer spoiled(HttpAnswer answer, Misbehaviour misbehaviour) {
    switch (misbehaviour) {
        case Misbehaviour::empty_body:
            answer.body.clear();
            return answer;
        case Misbehaviour::truncated:
            answer.body.resize(answer.body.size() * 2 / 3);
            return answer;
        case Misbehaviour::html_200:
            return html(200);
        case Misbehaviour::outcome_200:
            return fhir_answer(200,
                               R"({"resourceType":"OperationOutcome","issue":[{"severity":"information",)"
                               R"("code":"informational","diagnostics":"all is well"}]})");
        case Misbehaviour::accepted_202:
            return {202, {}, {}};
        default:
            return answer;
    }
}

}  // namespace nightferry::sim
