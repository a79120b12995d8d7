#include "daemon/watching/readiness.hpp"

namespace nightferry::watching {

std::vector<std::string> not_ready_because(const Condition& condition) {
    std::vector<std::string> words;
    if (!condition.data_trouble.empty()) {
        words.push_back("the data folder cannot be written to: " + condition.data_trouble +
                        "; give it back to the user that nightferryd runs as, on a disk that may be written");
    }
    if (condition.data_free_bytes && *condition.data_free_bytes < room_min_bytes) {
        words.push_back("the disk of the data folder is full: " + std::to_string(*condition.data_free_bytes) +
                        " bytes are free; make room, and the hub goes on by itself");
    }
    if (!condition.inbox_trouble.empty()) {
        words.push_back("the inbox cannot be read and emptied: " + condition.inbox_trouble +
                        "; give it back to the user and group that nightferryd runs as");
    }
    return words;
}

}  // namespace nightferry::watching
