// `nightferry new-certificate`: the certificate by which carers' phones know the hub.
#pragma once

#include <string>
#include <vector>

namespace nightferry::command {

struct NewCertificate {
    std::string file;
    std::string key_file;
    std::vector<std::string> names;
    int days = 397;
};

// Writes both to new files that only their owner may read, or none, and says what to do with them and how to
// know the certificate on a phone.
int make_certificate(const NewCertificate& wanted);

}  // namespace nightferry::command
