// How a phone is let in: somebody at the hub asks for a code, and types it into the phone within minutes.
//
// Invariants:
//   (1) A code is good once, for ten minutes, and only until a newer one is given to the same carer.
//   (2) After so many wrong ones in a row no code is good any more and none is taken for a while, each time
//   for
//       twice as long, until one was right. So nobody who guesses gets on, and whoever floods the hub with
//       wrong ones keeps others from pairing, but nobody from anything else.
//   (3) A wrong code takes as long as a right one to be told apart, and says nothing of what was wrong.
// Codes are in memory only, as their SHA-256: a restart ends them. Knows no clock, no socket and no chance.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "daemon/core/ports.hpp"
#include "daemon/core/result.hpp"

namespace nightferry::page {

inline constexpr std::size_t code_letters = 8;
inline constexpr std::chrono::minutes code_lasts{10};
inline constexpr int wrong_codes_max = 5;
inline constexpr std::chrono::minutes first_lock{1};
inline constexpr std::chrono::minutes longest_lock{60};

// Letters and digits that nobody takes for another, and that make no words; all 20 equally likely.
std::string random_letters(Secrets& secrets, std::size_t count);
// "CDFGHJKM" as people read it out: "CDFG-HJKM".
std::string for_people(const std::string& code);

class Pairing {
 public:
    explicit Pairing(Secrets& secrets) : secrets_(secrets) {}

    struct Code {
        std::string letters;
        Instant good_until;
    };
    // A code for a phone of this carer, to be called `name`. Errc::locked while none is taken.
    Result<Code> invite(const std::string& carer, const std::string& name, Instant now);

    struct Invited {
        std::string carer;
        std::string name;
    };
    struct Refused {
        bool is_locked = false;        // No code would be taken.
        int wrong = 0;                 // How many wrong ones there were in a row, this one included.
        std::chrono::seconds lock{0};  // For so long none is taken from now on.
    };
    // For whom the code is. Blanks, dashes and small letters in it do no harm.
    std::variant<Invited, Refused> redeem(std::string_view code, Instant now);

    // Until when no code is taken; nothing while one would be.
    std::optional<Instant> locked_until(Instant now);

 private:
    struct Pending {
        Invited whom;
        std::string code_hash;
        Instant made;
    };
    // Also ends codes that are over.
    void look_at_the_clock(Instant now);
    Refused refuse(Instant now);

    Secrets& secrets_;
    std::map<std::string, Pending> pending_;  // By carer.
    int wrong_ = 0;
    std::chrono::minutes next_lock_ = first_lock;
    struct Lock {
        Instant from;
        std::chrono::minutes span;
    };
    std::optional<Lock> lock_;
};

}  // namespace nightferry::page
