// Certificates made for one run of the tests, by the openssl command in a folder of their own.
#pragma once

#include <gtest/gtest.h>

#include <cstdlib>
#include <string>

#include "tests/support/files.hpp"

namespace nightferry::test {

// "ca" and "stranger" are authorities. The others are servers with one key, whose certificates "ca" signed:
// "good" for 127.0.0.1, "elsewhere" for another name, and "expired".
class Certificates {
 public:
    Certificates() {
        // clinic.example is nobody's name (RFC 2606 section 2).
        write_file(
            folder_ / "openssl.cnf",
            "[req]\ndistinguished_name = name\nprompt = no\n[name]\nCN = for tests\n"
            "[authority]\nbasicConstraints = critical, CA:TRUE\nkeyUsage = critical, keyCertSign\n"
            "[loopback]\nsubjectAltName = IP:127.0.0.1\n[another]\nsubjectAltName = DNS:clinic.example\n");
        for (const std::string authority : {"ca", "stranger"}) {
            run("req -x509 -config openssl.cnf -extensions authority -days 1 " + new_key + authority +
                ".key -out " + authority + ".pem");
        }
        run("req -config openssl.cnf " + new_key + "server.key -out server.csr");
        sign("good", "loopback", 1);
        sign("elsewhere", "another", 1);
        sign("expired", "loopback", 0);
    }

    std::filesystem::path certificate(const std::string& name) const { return folder_ / (name + ".pem"); }
    std::filesystem::path authority_key() const { return folder_ / "ca.key"; }
    std::filesystem::path server_key() const { return folder_ / "server.key"; }

 private:
    void sign(const std::string& name, const std::string& extensions, int days) {
        run("x509 -req -in server.csr -CA ca.pem -CAkey ca.key -set_serial 1 -extfile openssl.cnf "
            "-extensions " +
            extensions + " -days " + std::to_string(days) + " -out " + name + ".pem");
    }

    void run(const std::string& arguments) {
        const std::string command =
            "cd '" + folder_.path().string() + "' && openssl " + arguments + " > openssl.log 2>&1";
        if (std::system(command.c_str()) != 0)
            ADD_FAILURE() << command << ": " << read_file(folder_ / "openssl.log");
    }

    const std::string new_key = "-newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -keyout ";
    TemporaryFolder folder_;
};

}  // namespace nightferry::test
