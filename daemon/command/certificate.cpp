#include "daemon/command/certificate.hpp"

#include <cstdio>
#include <filesystem>

#include "daemon/command/commands.hpp"
#include "daemon/core/new_file.hpp"
#include "daemon/net/own_certificate.hpp"
#include "daemon/net/system_ports.hpp"

namespace nightferry::command {

namespace {

// A phone's clock may be behind the hub's.
constexpr std::chrono::hours allowance{1};

Result<void> write(const NewCertificate& wanted, const net::ServerIdentity& made) {
    auto certificate = NewFile::begin(wanted.file);
    if (!certificate) return certificate.error();
    auto key = NewFile::begin(wanted.key_file);
    if (!key) return key.error();
    if (const auto written = certificate->write(made.certificate); !written) return written;
    if (const auto written = key->write(made.key); !written) return written;
    // The key alone is of no use to anybody.
    if (const auto settled = key->settle(); !settled) return settled;
    return certificate->settle();
}

void advise(const NewCertificate& wanted) {
    const std::string file = std::filesystem::absolute(wanted.file);
    const std::string key_file = std::filesystem::absolute(wanted.key_file);
    std::fprintf(stderr,
                 "nightferry: whoever has %s can pass for this hub.\n"
                 "  In the settings: [page] with certificate = \"%s\" and\n"
                 "                   key = \"%s\"\n"
                 "  The daemon's user has to be able to read both files.\n"
                 "  A phone does not know this certificate and warns at the first visit. Compare what it "
                 "shows with the\n"
                 "  line above before you go on; if it differs, it is not the hub that answers.\n"
                 "  A certificate of an authority of your own, which your phones trust, is as good.\n",
                 key_file.c_str(), file.c_str(), key_file.c_str());
}

}  // namespace

int make_certificate(const NewCertificate& wanted) {
    const auto made = net::make_certificate(
        {wanted.names, net::SystemClock().now() - allowance, std::chrono::days{wanted.days}});
    if (!made) return complain(ExitCode::usage, made.error().detail);
    if (const auto written = write(wanted, *made); !written) return complain_of_new_file(written.error());
    std::printf("SHA-256 fingerprint: %s\n", net::fingerprint_of(made->certificate)->c_str());
    if (std::fflush(stdout) != 0) return complain(ExitCode::io, "the fingerprint could not be written");
    advise(wanted);
    return as_status(ExitCode::ok);
}

}  // namespace nightferry::command
