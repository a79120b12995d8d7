// Reading input of unknown size without taking more memory than was agreed.
#pragma once

#include <cstddef>
#include <fstream>
#include <istream>
#include <string>

namespace nightferry::command {

enum class Bounded { done, too_long, failed };  // `failed` also at the end of the input, for lines.

// All that is left of the input.
Bounded read_whole(std::istream& input, std::size_t bytes_max, std::string& text);

// Up to the next line feed, which is dropped.
Bounded read_line(std::istream& input, std::size_t bytes_max, std::string& text);

// A file opened for reading that can say why it could not be.
class InputFile {
 public:
    explicit InputFile(const std::string& path);

    std::istream& stream() { return stream_; }
    const std::string& why_not() const { return why_not_; }

 private:
    std::ifstream stream_;
    std::string why_not_;
};

}  // namespace nightferry::command
