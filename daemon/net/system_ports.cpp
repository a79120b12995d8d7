#include "daemon/net/system_ports.hpp"

#include <openssl/rand.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <random>
#include <stdexcept>

namespace nightferry::net {

Instant SystemClock::now() const {
    return std::chrono::floor<std::chrono::microseconds>(std::chrono::system_clock::now());
}

std::uint64_t SystemRandom::below(std::uint64_t bound) {
    if (bound == 0) return 0;
    std::random_device device;
    return std::uniform_int_distribution<std::uint64_t>(0, bound - 1)(device);
}

std::string SystemSecrets::bytes(std::size_t count) {
    std::string made(count, '\0');
    if (RAND_bytes(reinterpret_cast<unsigned char*>(made.data()), static_cast<int>(count)) != 1)
        throw std::runtime_error("no secret random bytes can be had");
    return made;
}

struct LoopAlarm::Timer {
    explicit Timer(boost::asio::io_context& loop) : timer(loop) {}
    boost::asio::steady_timer timer;
    // A handler that already stands in the loop's queue cannot be called back; it sees here that it is stale.
    std::uint64_t setting = 0;
};

LoopAlarm::LoopAlarm(boost::asio::io_context& loop) : timer_(std::make_shared<Timer>(loop)) {}

LoopAlarm::~LoopAlarm() {
    cancel();
}

void LoopAlarm::after(std::chrono::microseconds span, std::function<void()> ring) {
    const std::uint64_t setting = ++timer_->setting;
    timer_->timer.expires_after(span);
    timer_->timer.async_wait(
        [timer = timer_, setting, ring = std::move(ring)](boost::system::error_code cancelled) {
            if (!cancelled && timer->setting == setting) ring();
        });
}

void LoopAlarm::cancel() {
    ++timer_->setting;
    timer_->timer.cancel();
}

}  // namespace nightferry::net
