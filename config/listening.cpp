// An address and a port at which this machine listens, as settings write them.
#include <boost/url.hpp>

#include "config/sections.hpp"

namespace nightferry::config {

namespace {

using Reach = Listening::Reach;

bool begins_with(std::uint32_t address, std::uint32_t prefix, int bits) {
    return (address ^ prefix) >> (32 - bits) == 0;
}

// Private networks (RFC 1918), those without a server for addresses (RFC 3927), and those that providers and
// private overlays share (RFC 6598). 0.0.0.0 is every address of this machine.
Reach reach_of(const boost::urls::ipv4_address& address) {
    if (address.is_loopback()) return Reach::this_machine;
    const std::uint32_t number = address.to_uint();
    const bool is_home = number == 0 || begins_with(number, 0x0a000000, 8) ||
                         begins_with(number, 0xac100000, 12) || begins_with(number, 0xc0a80000, 16) ||
                         begins_with(number, 0xa9fe0000, 16) || begins_with(number, 0x64400000, 10);
    return is_home ? Reach::home : Reach::open_internet;
}

// Unique local addresses (RFC 4193), those of one link (RFC 4291 section 2.5.6), and :: for all.
Reach reach_of(const boost::urls::ipv6_address& address) {
    if (address.is_loopback()) return Reach::this_machine;
    const auto bytes = address.to_bytes();
    const bool is_home = address.is_unspecified() || (bytes[0] & 0xfe) == 0xfc ||
                         (bytes[0] == 0xfe && (bytes[1] & 0xc0) == 0x80);
    return is_home ? Reach::home : Reach::open_internet;
}

}  // namespace

std::optional<Listening> read_listening(const std::string& text) {
    const auto read = boost::urls::parse_authority(text);
    if (!read || read->has_userinfo() || read->port_number() == 0) return std::nullopt;
    const std::uint16_t port = read->port_number();
    if (read->host_type() == boost::urls::host_type::ipv4) {
        const auto address = read->host_ipv4_address();
        return Listening{address.to_string(), port, reach_of(address)};
    }
    if (read->host_type() == boost::urls::host_type::ipv6) {
        const auto address = read->host_ipv6_address();
        return Listening{address.to_string(), port, reach_of(address)};
    }
    return std::nullopt;
}

}  // namespace nightferry::config
