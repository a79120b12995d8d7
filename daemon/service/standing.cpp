#include "daemon/service/standing.hpp"

#include "daemon/core/words.hpp"

namespace nightferry::service {

std::string in_words(const Standing& standing) {
    if (standing.clinics == 0) return "Running; no clinic is in the settings.";
    std::string words = "Running; ";
    const std::string whom = standing.clinics == 1 ? "the clinic" : "the clinics";
    if (standing.waiting == 0) {
        words += "nothing waits for " + whom;
    } else {
        words += counted(static_cast<std::size_t>(standing.waiting), "entry waits", "entries wait") +
                 " for " + whom;
    }
    if (standing.set_aside > 0) {
        words += "; " + counted(static_cast<std::size_t>(standing.set_aside), "entry is", "entries are") +
                 " set aside until somebody looks (nightferry set-aside)";
    }
    if (standing.passes > 0) return words + "; a pass is under way.";
    if (!standing.last_pass) return words + "; no pass has ended yet.";
    return words + "; the last pass ended at " +
           to_text(std::chrono::floor<std::chrono::seconds>(*standing.last_pass)) + ".";
}

}  // namespace nightferry::service
