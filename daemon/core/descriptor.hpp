// An open file of the operating system, closed when it goes out of scope.
#pragma once

#include <unistd.h>

#include <utility>

namespace nightferry {

class Descriptor {
 public:
    // What open(2) gave: negative when it failed.
    explicit Descriptor(int number) : number_(number) {}
    Descriptor(Descriptor&& other) noexcept : number_(std::exchange(other.number_, -1)) {}
    Descriptor& operator=(Descriptor&&) = delete;
    ~Descriptor() { close(); }

    int number() const { return number_; }
    bool is_open() const { return number_ >= 0; }
    // Now instead of later.
    void close() {
        if (number_ >= 0) ::close(std::exchange(number_, -1));
    }

 private:
    int number_;
};

}  // namespace nightferry
