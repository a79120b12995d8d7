#include "daemon/command/keys.hpp"

#include <cstdio>
#include <filesystem>
#include <vector>

#include "daemon/access/signing_key.hpp"
#include "daemon/command/commands.hpp"
#include "daemon/core/new_file.hpp"
#include "daemon/core/secret_file.hpp"
#include "daemon/core/words.hpp"

namespace nightferry::command {

namespace {

using access::Algorithm;
using access::SigningKey;
using Keys = std::vector<access::PublicKey>;

void advise(const std::string& file, Algorithm algorithm, Algorithm usual) {
    const std::string more = algorithm == usual ? ""
                                                : "\n                       algorithm = \"" +
                                                      std::string(access::name_of(algorithm)) + "\"";
    std::fprintf(
        stderr,
        "nightferry: the private key is in %s; whoever has it can pass for this hub.\n"
        "  For the clinic's IT: the JSON above. They register it for this hub, and give you a client id.\n"
        "  In the settings:     [clinic.authorization] with method = \"private_key_jwt\", client_id = \"…\" "
        "and\n"
        "                       key = \"%s\"%s\n"
        "  The daemon's user has to be able to read the file.\n",
        file.c_str(), file.c_str(), more.c_str());
}

int print(const Keys& keys) {
    std::fputs(access::jwk_set(keys).c_str(), stdout);
    return std::fflush(stdout) == 0 ? as_status(ExitCode::ok)
                                    : complain(ExitCode::io, "the public key could not be written");
}

// Adds the key in a file of the settings, if there is one; otherwise the words why it cannot be used.
std::string add(Keys& keys, const config::SecretFile& file, const std::string& id,
                const std::string& algorithm) {
    if (file.empty()) return {};
    const auto pem = read_secret(file);
    if (!pem) return pem.error().detail;
    auto key = SigningKey::from_pem(*pem);
    if (!key) return file.string() + " " + key.error().detail;
    auto wanted = access::algorithm_named(algorithm);
    if (!wanted || !key->can(*wanted)) wanted = key->usual();
    keys.push_back({std::move(*key), *wanted, id});
    return {};
}

bool has_keys(const config::Clinic& clinic) {
    return !clinic.authorization.key.empty();
}

}  // namespace

int make_key(const NewKey& wanted) {
    const auto algorithm = access::algorithm_named(wanted.algorithm);
    if (!algorithm)
        return complain(ExitCode::usage, in_quotes(wanted.algorithm) + " is no algorithm that we know");
    const SigningKey key = SigningKey::make(*algorithm);
    if (const auto written = write_new_file(wanted.file, key.to_pem()); !written)
        return complain_of_new_file(written.error());
    const int status = print({{key, *algorithm, {}}});
    advise(std::filesystem::absolute(wanted.file), *algorithm, key.usual());
    return status;
}

int print_public_keys(const config::Settings& settings, const std::string& clinic) {
    std::vector<const config::Clinic*> found;
    for (const config::Clinic& one : settings.clinics) {
        if (clinic.empty() ? has_keys(one) : one.name == clinic) found.push_back(&one);
    }
    if (found.empty() && !clinic.empty())
        return complain(ExitCode::usage, "no [[clinic]] has the name " + in_quotes(clinic));
    if (found.size() > 1)
        return complain(ExitCode::usage, "several clinics have keys; say which with --clinic");
    if (found.empty() || !has_keys(*found.front()))
        return complain(ExitCode::settings, "the settings name no key; `nightferry new-key` makes one");
    const config::Authorization& authorization = found.front()->authorization;
    Keys keys;
    std::string fault = add(keys, authorization.key, authorization.key_id, authorization.algorithm);
    if (fault.empty())
        fault = add(keys, authorization.next_key, authorization.next_key_id, authorization.algorithm);
    return fault.empty() ? print(keys) : complain(ExitCode::settings, fault);
}

int Commands::public_keys() {
    return print_public_keys(*settings_, options_.clinic);
}

}  // namespace nightferry::command
