// Who may use the page: phones that were paired, and only by what the page itself has them send.
//
// Invariants:
//   (1) A phone is known by a token of 256 bits that it alone has: in a cookie that scripts cannot read and
//   that
//       browsers send to this hub only, over TLS only, and not at the wish of another site. The hub keeps its
//       SHA-256.
//   (2) A request under a name that is none of the certificate's is not the page's, whatever it shows: so a
//       stranger's site whose name was made to lead here (DNS rebinding) gets nothing.
//   (3) What changes something has to say that it comes from the page (Origin, RFC 6454). A page that asks
//   for no
//       referrer at all (Referrer-Policy: no-referrer) has browsers say "null" there, which is refused, too.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/http.hpp"
#include "daemon/core/log.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/logbook/device_shelf.hpp"
#include "daemon/page/pairing.hpp"

namespace nightferry::page {

using Device = logbook::Device;

inline constexpr std::string_view cookie_name = "__Host-nightferry";  // RFC 6265bis section 4.1.3.2.

// Whether a certificate with that name is for that host; "*.home.arpa" is for whatever has one label before
// it (RFC 9525 section 6.3). Both in lower case.
bool is_for_host(std::string_view name, std::string_view host);

struct Paired {
    Device device;
    std::string cookie;  // The value of the Set-Cookie header.
};

class Gate {
 public:
    // All references outlive it.
    struct Parts {
        const entry::Household& household;
        logbook::DeviceShelf& shelf;
        Pairing& pairing;
        Secrets& secrets;
        Clock& clock;
        Log& log;
    };
    explicit Gate(Parts parts) : parts_(parts) {}

    // The names and addresses under which the page is opened, in lower case, and its port. Before that no
    // request is the page's.
    void open_at(std::vector<std::string> names, std::uint16_t port);
    // "https://hub.home.arpa:8443", one for each that can be typed.
    std::vector<std::string> addresses() const;

    // Whether it is meant for this hub and, where it may change something, comes from the page.
    bool is_own(const HttpRequest& request) const;
    // The paired phone that asks, if it is one and its carer is still in the settings. Nobody when the
    // logbook failed, too.
    std::optional<Device> who(const HttpRequest& request);
    // Lets a phone in. Errc::bad_input for a wrong code, locked while none is taken, disk_full.
    Result<Paired> pair(std::string_view code, Instant now);

    // The error after which the process has to end, if one came.
    const std::optional<Error>& failed() const { return failed_; }

 private:
    std::optional<std::string> host_of(const HttpRequest& request) const;
    void note_use(const Device& device);
    void take(const Error& error);

    Parts parts_;
    std::vector<std::string> names_;
    std::uint16_t port_ = 0;
    std::optional<Error> failed_;
};

}  // namespace nightferry::page
