// The part of Site that is about the line between a hub and the server.
#include <algorithm>

#include "tests/sim/site.hpp"

namespace nightferry::sim {

namespace {

using namespace std::chrono_literals;
using sync::NoAnswer;

// What a gateway may send twice by itself (RFC 9110 section 9.2.2), or carries its own condition.
bool is_repeatable(const HttpRequest& request) {
    return request.method != "POST" || !header(request.headers, "If-None-Exist").empty() ||
           request.body.find("ifNoneExist") != std::string::npos;
}

}  // namespace

// One hub's end of it.
class Site::Line final : public sync::ClinicPort {
 public:
    explicit Line(Site& site) : site_(site) {}
    void send(HttpRequest request, std::function<void(sync::Reply)> done) override {
        const bool breaks = ++requests_ == site_.mix_.line.breaks_at;
        auto told = [this, done = std::move(done)](sync::Reply reply) {
            if (std::holds_alternative<NoAnswer>(reply)) requests_ = 0;
            done(std::move(reply));
        };
        site_.carry({std::move(request), std::move(told), hub_, breaks});
    }
    void rest() override { requests_ = 0; }

 private:
    Site& site_;
    int requests_ = 0;  // On this connection; any failure ends it.
    std::shared_ptr<int> hub_ = std::make_shared<int>(0);
};

std::unique_ptr<sync::ClinicPort> Site::connect() {
    return std::make_unique<Line>(*this);
}

void Site::answer(const Request& request, sync::Reply reply, Span after) {
    agenda_.after(after, [request, reply = std::move(reply)] {
        if (!request.hub.expired()) request.done(reply);
    });
}

void Site::carry(Request request) {
    ++requests_this_hour_;
    most_in_an_hour_ = std::max(most_in_an_hour_, requests_this_hour_);
    const Span there = Span{1ms} + Span{dice_.below(300'000)};
    if (is_away()) {
        if (tell_) tell_(name_ + "  is away");
        most_in_vain_ = std::max(most_in_vain_, ++in_vain_this_hour_);
        const bool refused = dice_.below(2) == 0;
        return answer(request, NoAnswer{NoAnswer::Reached::no, "no route"}, refused ? there : Span{10s});
    }
    if (request.breaks) return break_with(request, there);
    if (dice_.happens(mix_.line.lost_requests)) {
        if (tell_) tell_(name_ + "  request lost");
        const bool seen = dice_.below(2) == 0;
        return answer(request, NoAnswer{seen ? NoAnswer::Reached::perhaps : NoAnswer::Reached::no, "cut off"},
                      seen ? Span{90s} : there);
    }
    if (lates_ && dice_.happens(mix_.line.late_requests)) {
        if (tell_) tell_(name_ + "  request is late");
        answer(request, NoAnswer{NoAnswer::Reached::perhaps, "did not answer in time"}, 90s);
        // The connection is closed by then; what hangs in some gateway comes through within minutes.
        agenda_.after(Span{90s} + Span{dice_.below(240'000'000)},
                      [this, late = request.request] { (void)serve(late, Misbehaviour::none); });
        return;
    }
    if (doubles_ && is_repeatable(request.request) && dice_.happens(mix_.line.doubled_requests)) {
        agenda_.after(there + Span{dice_.below(60'000'000)},
                      [this, again = request.request] { (void)serve(again, Misbehaviour::none); });
    }
    agenda_.after(there, [this, request = std::move(request)] { arrive(request); });
}

// The server may have acted all the same; and sometimes nobody says that the connection is gone.
void Site::break_with(const Request& request, Span there) {
    if (tell_) tell_(name_ + "  the connection breaks");
    if (dice_.below(2) == 0)
        agenda_.after(there, [this, it = request.request] { (void)serve(it, Misbehaviour::none); });
    const bool is_told = dice_.below(4) != 0;
    answer(request, NoAnswer{NoAnswer::Reached::perhaps, "the connection broke"}, is_told ? 2 * there : 90s);
}

void Site::arrive(Request request) {
    if (is_away()) return answer(request, NoAnswer{NoAnswer::Reached::perhaps, "connection reset"}, 1s);
    const Misbehaviour misbehaviour = draw_misbehaviour();
    HttpAnswer told = serve(request.request, misbehaviour);
    const Span back = Span{1ms} + Span{dice_.below(300'000)};
    if (dice_.happens(mix_.line.lost_answers)) {
        if (tell_) tell_(name_ + "  answer lost");
        return answer(request, NoAnswer{NoAnswer::Reached::perhaps, "cut off"},
                      dice_.below(2) == 0 ? back : Span{90s});
    }
    answer(request, std::move(told), back);
}

}  // namespace nightferry::sim
