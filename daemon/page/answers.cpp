#include "daemon/page/answers.hpp"

namespace nightferry::page {

HttpAnswer page(int status, std::string document) {
    return {status,
            {{"Content-Type", "text/html; charset=utf-8"},
             {"Cache-Control", "no-store"},
             {"Content-Security-Policy",
              "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; img-src 'self'; "
              "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"},
             {"X-Content-Type-Options", "nosniff"},
             {"Referrer-Policy", "same-origin"},
             {"Cross-Origin-Opener-Policy", "same-origin"},
             {"Cross-Origin-Resource-Policy", "same-origin"}},
            std::move(document)};
}

HttpAnswer see(std::string address) {
    HttpAnswer answer = page(303, {});
    answer.headers.emplace_back("Location", std::move(address));
    return answer;
}

}  // namespace nightferry::page
