#include "daemon/access/base64.hpp"

#include <openssl/evp.h>

#include <algorithm>

namespace nightferry::access {

std::string base64(std::string_view bytes) {
    // OpenSSL writes a zero byte behind the text, which a std::string has room for.
    std::string text((bytes.size() + 2) / 3 * 4, '\0');
    EVP_EncodeBlock(reinterpret_cast<unsigned char*>(text.data()),
                    reinterpret_cast<const unsigned char*>(bytes.data()), static_cast<int>(bytes.size()));
    return text;
}

std::string base64url(std::string_view bytes) {
    std::string text = base64(bytes);
    while (text.ends_with('='))
        text.pop_back();
    std::replace(text.begin(), text.end(), '+', '-');
    std::replace(text.begin(), text.end(), '/', '_');
    return text;
}

}  // namespace nightferry::access
