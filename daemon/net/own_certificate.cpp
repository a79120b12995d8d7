#include "daemon/net/own_certificate.hpp"

#include <openssl/bio.h>
#include <openssl/ec.h>
#include <openssl/err.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/x509.h>
#include <openssl/x509v3.h>

#include <algorithm>
#include <array>
#include <boost/asio/ip/address.hpp>
#include <memory>
#include <stdexcept>

#include "daemon/core/words.hpp"

namespace nightferry::net {

namespace {

using Bio = std::unique_ptr<BIO, decltype(&BIO_free)>;
using Certificate = std::unique_ptr<X509, decltype(&X509_free)>;
using Key = std::unique_ptr<EVP_PKEY, decltype(&EVP_PKEY_free)>;

// What only a lack of memory, or our own mistake, can make fail.
void must(bool worked, const char* what) {
    if (!worked) throw std::runtime_error(std::string("OpenSSL failed: ") + what);
}

std::string in_lower_case(std::string text) {
    std::ranges::transform(text, text.begin(), [](char c) {
        return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    });
    return text;
}

Certificate first_in(const std::string& pem) {
    const Bio bio(BIO_new_mem_buf(pem.data(), static_cast<int>(pem.size())), &BIO_free);
    Certificate found(PEM_read_bio_X509(bio.get(), nullptr, nullptr, nullptr), &X509_free);
    ERR_clear_error();
    return found;
}

std::string text_of(const ASN1_STRING* value) {
    return {reinterpret_cast<const char*>(ASN1_STRING_get0_data(value)),
            static_cast<std::size_t>(ASN1_STRING_length(value))};
}

// Four bytes or sixteen.
std::optional<std::string> address_of(const ASN1_OCTET_STRING* value) {
    const std::string bytes = text_of(value);
    boost::asio::ip::address_v4::bytes_type four{};
    boost::asio::ip::address_v6::bytes_type sixteen{};
    if (bytes.size() == four.size()) {
        std::ranges::copy(bytes, reinterpret_cast<char*>(four.data()));
        return boost::asio::ip::address_v4(four).to_string();
    }
    if (bytes.size() != sixteen.size()) return std::nullopt;
    std::ranges::copy(bytes, reinterpret_cast<char*>(sixteen.data()));
    return boost::asio::ip::address_v6(sixteen).to_string();
}

bool is_address(const std::string& name) {
    boost::system::error_code failure;
    boost::asio::ip::make_address(name, failure);
    return !failure;
}

// RFC 1123 section 2.1: labels of letters, digits and '-', at most 63 long, 253 in all.
bool is_host_name(std::string_view name) {
    if (name.empty() || name.size() > 253) return false;
    while (true) {
        const std::string_view label = name.substr(0, name.find('.'));
        const bool is_plain = std::ranges::all_of(label, [](char c) {
            return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-';
        });
        if (label.empty() || label.size() > 63 || !is_plain || label.front() == '-' || label.back() == '-')
            return false;
        if (label.size() == name.size()) return true;
        name.remove_prefix(label.size() + 1);
    }
}

void extend(X509* certificate, int kind, const std::string& value) {
    const std::unique_ptr<X509_EXTENSION, decltype(&X509_EXTENSION_free)> extension(
        X509V3_EXT_conf_nid(nullptr, nullptr, kind, value.c_str()), &X509_EXTENSION_free);
    must(extension && X509_add_ext(certificate, extension.get(), -1) == 1, "an extension");
}

void name(X509* certificate, const std::vector<std::string>& names) {
    std::string alternatives;
    for (const std::string& one : names) {
        const char* kind = is_address(one) ? "IP:" : "DNS:";
        alternatives += (alternatives.empty() ? "" : ",") + (kind + in_lower_case(one));
    }
    extend(certificate, NID_subject_alt_name, alternatives);
    // People see it in lists of certificates; X.520 allows 64 characters.
    X509_NAME* subject = X509_get_subject_name(certificate);
    const std::string shown = names.front().substr(0, 64);
    must(X509_NAME_add_entry_by_txt(subject, "CN", MBSTRING_ASC,
                                    reinterpret_cast<const unsigned char*>(shown.data()),
                                    static_cast<int>(shown.size()), -1, 0) == 1 &&
             X509_set_issuer_name(certificate, subject) == 1,
         "the subject");
}

void number(X509* certificate) {
    const std::unique_ptr<BIGNUM, decltype(&BN_free)> serial(BN_new(), &BN_free);
    // RFC 5280 section 4.1.2.2: positive and unique.
    must(serial && BN_rand(serial.get(), 127, BN_RAND_TOP_ONE, BN_RAND_BOTTOM_ANY) == 1 &&
             BN_to_ASN1_INTEGER(serial.get(), X509_get_serialNumber(certificate)) != nullptr,
         "the serial number");
}

void date(X509* certificate, Instant from, std::chrono::days days) {
    const std::time_t begins =
        std::chrono::duration_cast<std::chrono::seconds>(from.time_since_epoch()).count();
    const std::time_t ends = begins + std::chrono::seconds(days).count();
    must(ASN1_TIME_set(X509_getm_notBefore(certificate), begins) != nullptr &&
             ASN1_TIME_set(X509_getm_notAfter(certificate), ends) != nullptr,
         "the time of validity");
}

template <class Write>
std::string pem_of(Write write) {
    const Bio bio(BIO_new(BIO_s_mem()), &BIO_free);
    must(bio && write(bio.get()) == 1, "PEM");
    char* text = nullptr;
    const long size = BIO_get_mem_data(bio.get(), &text);
    return {text, static_cast<std::size_t>(size)};
}

}  // namespace

std::vector<std::string> names_in(const std::string& pem) {
    const Certificate certificate = first_in(pem);
    if (!certificate) return {};
    const std::unique_ptr<GENERAL_NAMES, decltype(&GENERAL_NAMES_free)> all(
        static_cast<GENERAL_NAMES*>(
            X509_get_ext_d2i(certificate.get(), NID_subject_alt_name, nullptr, nullptr)),
        &GENERAL_NAMES_free);
    std::vector<std::string> names;
    for (int i = 0; all && i < sk_GENERAL_NAME_num(all.get()); ++i) {
        const GENERAL_NAME* one = sk_GENERAL_NAME_value(all.get(), i);
        if (one->type == GEN_DNS) names.push_back(in_lower_case(text_of(one->d.dNSName)));
        if (one->type != GEN_IPADD) continue;
        if (auto address = address_of(one->d.iPAddress)) names.push_back(std::move(*address));
    }
    return names;
}

std::optional<std::string> fingerprint_of(const std::string& pem) {
    const Certificate certificate = first_in(pem);
    if (!certificate) return std::nullopt;
    std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
    unsigned int size = 0;
    must(X509_digest(certificate.get(), EVP_sha256(), digest.data(), &size) == 1, "SHA-256");
    constexpr std::string_view digits = "0123456789ABCDEF";
    std::string text;
    for (unsigned int i = 0; i < size; ++i) {
        if (i > 0) text += ':';
        text += digits[digest[i] >> 4];
        text += digits[digest[i] & 15];
    }
    return text;
}

Result<ServerIdentity> make_certificate(const CertificateWish& wish) {
    for (const std::string& one : wish.names) {
        if (is_address(one) || is_host_name(one)) continue;
        return Error{Errc::bad_input, in_quotes(one) +
                                          " is neither the name of a host nor an address; write it like "
                                          "hub.home.arpa or 192.168.1.10"};
    }
    const Key key(EVP_EC_gen("P-256"), &EVP_PKEY_free);
    const Certificate certificate(X509_new(), &X509_free);
    must(key && certificate, "a new key");
    must(X509_set_version(certificate.get(), X509_VERSION_3) == 1 &&
             X509_set_pubkey(certificate.get(), key.get()) == 1,
         "the public key");
    number(certificate.get());
    date(certificate.get(), wish.from, wish.days);
    name(certificate.get(), wish.names);
    extend(certificate.get(), NID_basic_constraints, "critical,CA:FALSE");
    extend(certificate.get(), NID_key_usage, "critical,digitalSignature");
    extend(certificate.get(), NID_ext_key_usage, "serverAuth");
    must(X509_sign(certificate.get(), key.get(), EVP_sha256()) > 0, "signing");
    return ServerIdentity{
        pem_of([&](BIO* bio) { return PEM_write_bio_X509(bio, certificate.get()); }), pem_of([&](BIO* bio) {
            return PEM_write_bio_PKCS8PrivateKey(bio, key.get(), nullptr, nullptr, 0, nullptr, nullptr);
        })};
}

}  // namespace nightferry::net
