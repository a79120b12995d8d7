#include "daemon/net/gzip.hpp"

#include <zlib.h>

namespace nightferry::net {

Result<std::string> unpack_gzip(std::string_view packed, std::size_t most) {
    constexpr int gzip_only = 15 + 16;  // The largest window, with gzip's own header; see zlib's manual.
    constexpr std::size_t step = 64 * 1024;
    z_stream stream{};
    if (inflateInit2(&stream, gzip_only) != Z_OK) return Error{Errc::bad_input, "no memory for unpacking it"};
    stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(packed.data()));
    stream.avail_in = static_cast<uInt>(packed.size());
    std::string text;
    int state = Z_OK;
    while (state == Z_OK && text.size() <= most) {
        const std::size_t got = text.size();
        text.resize(got + step);
        stream.next_out = reinterpret_cast<Bytef*>(text.data() + got);
        stream.avail_out = step;
        state = inflate(&stream, Z_NO_FLUSH);
        text.resize(got + step - stream.avail_out);
        if (stream.avail_in == 0 && text.size() == got && state == Z_OK) break;
        // Several may stand behind each other (RFC 1952 section 2.2).
        if (state == Z_STREAM_END && stream.avail_in > 0) state = inflateReset(&stream);
    }
    const bool is_whole = state == Z_STREAM_END && stream.avail_in == 0;
    inflateEnd(&stream);
    if (text.size() > most) return Error{Errc::bad_input, "it unpacks to more than we take"};
    if (!is_whole) return Error{Errc::bad_input, "it cannot be unpacked"};
    return text;
}

}  // namespace nightferry::net
