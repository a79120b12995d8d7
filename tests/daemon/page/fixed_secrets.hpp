// What nobody may guess, made guessable for tests.
#pragma once

#include "daemon/core/ports.hpp"

namespace nightferry::test {

// 0, 1, 2 … and after 255 from the beginning.
class FixedSecrets final : public Secrets {
 public:
    std::string bytes(std::size_t count) override {
        std::string made;
        for (std::size_t i = 0; i < count; ++i)
            made += static_cast<char>(next_++);
        return made;
    }

 private:
    unsigned char next_ = 0;
};

}  // namespace nightferry::test
