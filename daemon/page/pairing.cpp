#include "daemon/page/pairing.hpp"

#include <algorithm>

#include "daemon/core/secrets.hpp"

namespace nightferry::page {

namespace {

// Neither vowels nor 0 O 1 I L 2 Z 5 S 6 8 B U V.
constexpr std::string_view letters = "CDFGHJKMNPQRTWXY3479";

// As it was given out; what cannot be one becomes one that is never given out.
std::string tidied(std::string_view code) {
    std::string plain;
    for (const char c : code) {
        if (c == ' ' || c == '-') continue;
        plain += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
        if (plain.size() > code_letters) return {};
    }
    return plain;
}

}  // namespace

std::string random_letters(Secrets& secrets, std::size_t count) {
    // Bytes from the highest multiple on would make the first letters likelier.
    constexpr std::size_t usable = 256 / letters.size() * letters.size();
    std::string text;
    while (text.size() < count) {
        for (const char c : secrets.bytes(count - text.size())) {
            const auto byte = static_cast<unsigned char>(c);
            if (byte < usable) text += letters[byte % letters.size()];
        }
    }
    return text;
}

std::string for_people(const std::string& code) {
    return code.substr(0, code_letters / 2) + "-" + code.substr(code_letters / 2);
}

void Pairing::look_at_the_clock(Instant now) {
    // A clock that was set back makes neither codes nor the lock last longer than they should from now on.
    std::erase_if(pending_, [now](const auto& one) {
        return now < one.second.made || now - one.second.made >= code_lasts;
    });
    if (!lock_) return;
    lock_->from = std::min(lock_->from, now);
    if (now - lock_->from >= lock_->span) lock_.reset();
}

std::optional<Instant> Pairing::locked_until(Instant now) {
    look_at_the_clock(now);
    return lock_ ? std::optional(lock_->from + lock_->span) : std::nullopt;
}

Result<Pairing::Code> Pairing::invite(const std::string& carer, const std::string& name, Instant now) {
    if (const auto until = locked_until(now)) {
        const auto minutes = std::chrono::ceil<std::chrono::minutes>(*until - now).count();
        return Error{Errc::locked, "too many wrong codes were tried, so none is taken for " +
                                       std::to_string(minutes) + (minutes == 1 ? " minute" : " minutes") +
                                       "; the log tells pairing_refused"};
    }
    const std::string code = random_letters(secrets_, code_letters);
    pending_[carer] = Pending{{carer, name}, sha256(code), now};
    return Code{code, now + code_lasts};
}

Pairing::Refused Pairing::refuse(Instant now) {
    Refused refused{false, ++wrong_, std::chrono::seconds{0}};
    if (wrong_ < wrong_codes_max) return refused;
    pending_.clear();
    lock_ = Lock{now, next_lock_};
    refused.lock = next_lock_;
    next_lock_ = std::min(2 * next_lock_, longest_lock);
    wrong_ = 0;
    return refused;
}

std::variant<Pairing::Invited, Pairing::Refused> Pairing::redeem(std::string_view code, Instant now) {
    if (const auto until = locked_until(now))
        return Refused{true, wrong_, std::chrono::ceil<std::chrono::seconds>(*until - now)};
    const std::string hash = sha256(tidied(code));
    auto found = pending_.end();
    for (auto one = pending_.begin(); one != pending_.end(); ++one) {
        if (is_same_secret(one->second.code_hash, hash)) found = one;
    }
    if (found == pending_.end()) return refuse(now);
    const Invited whom = found->second.whom;
    pending_.erase(found);
    wrong_ = 0;
    next_lock_ = first_lock;
    return whom;
}

}  // namespace nightferry::page
