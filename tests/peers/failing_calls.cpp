// A library to preload into a program: it makes one chosen system call fail, as a full, broken or read-only
// disk or a torn connection would, and tells how many of each kind there were. Its settings are:
//
//   NIGHTFERRY_FAIL         what fails: "KIND N ERROR once" is the N-th call of this kind, "KIND N ERROR on"
//                           that one and all behind it. ERROR is a name from the list below, or SHORT: half
//                           of the bytes reach the file. Empty or absent: the calls are only counted.
//   NIGHTFERRY_FAIL_BELOW   a folder: only files in and below it are meant. All sockets are.
//   NIGHTFERRY_FAIL_REPORT  a file to which "failed KIND N WHERE" is added at the first failure and, when the
//                           program exits, "count KIND N" for every kind.
//
// Kinds name what a call does, not its spelling: write() to a file counts as "write", to a socket as "send".
// Every call that changes something on the disk also counts as "disk", so that "disk 9 ENOSPC on" is a disk
// that is full from there on. Standard input, output and error are left alone. Nothing here allocates or
// locks while the program runs.
#include "tests/peers/failing_calls.hpp"

#include <fcntl.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <cstring>

namespace failing_calls {

namespace {

constexpr const char* names[none_] = {"accept", "connect", "send",     "recv",   "notice", "list",
                                      "read",   "pread",   "open",     "unlink", "mode",   "write",
                                      "pwrite", "sync",    "truncate", "rename", "mkdir",  "disk"};

struct Failure {
    const char* name;
    int code;
};
constexpr Failure failures[] = {{"EIO", EIO},
                                {"ENOSPC", ENOSPC},
                                {"EROFS", EROFS},
                                {"EINTR", EINTR},
                                {"EMFILE", EMFILE},
                                {"EACCES", EACCES},
                                {"EPIPE", EPIPE},
                                {"ECONNRESET", ECONNRESET},
                                {"ECONNREFUSED", ECONNREFUSED},
                                {"ECONNABORTED", ECONNABORTED},
                                {"ETIMEDOUT", ETIMEDOUT},
                                {"SHORT", only_half}};

// Set once, before main().
struct Setting {
    char text[512] = "";
};
Setting below;
Setting report_file;
Kind wanted_kind = none_;
int wanted_code = 0;
long wanted_number = 0;
bool wanted_on = false;

std::atomic<long> counts[none_];
std::atomic<bool> has_failed{false};

[[noreturn]] void misuse(const char* why) {
    std::fprintf(stderr, "failing_calls: %s\n", why);
    _exit(64);
}

void read_setting(const char* name, Setting& into) {
    const char* value = std::getenv(name);
    if (value == nullptr) return;
    if (std::strlen(value) >= sizeof into.text) misuse("a path is too long");
    std::strcpy(into.text, value);
}

__attribute__((constructor)) void read_settings() {
    read_setting("NIGHTFERRY_FAIL_BELOW", below);
    read_setting("NIGHTFERRY_FAIL_REPORT", report_file);
    const char* wanted = std::getenv("NIGHTFERRY_FAIL");
    if (wanted == nullptr || *wanted == '\0') return;
    char kind[16], error[16], how_long[8];
    if (std::sscanf(wanted, "%15s %ld %15s %7s", kind, &wanted_number, error, how_long) != 4)
        misuse("expected KIND N ERROR once|on");
    wanted_on = std::strcmp(how_long, "on") == 0;
    for (const Failure& one : failures)
        if (std::strcmp(one.name, error) == 0) wanted_code = one.code;
    for (int one = 0; one < none_; ++one)
        if (std::strcmp(names[one], kind) == 0) wanted_kind = static_cast<Kind>(one);
    if (wanted_code == 0 || wanted_kind == none_) misuse("no such kind or error");
    // A socket takes less than everything only when it is full, and then tells when it no longer is.
    if (wanted_code == only_half && wanted_kind != write_ && wanted_kind != pwrite_)
        misuse("SHORT is for write and pwrite");
}

void report(const char* line, int length) {
    const long file =
        syscall(SYS_openat, AT_FDCWD, report_file.text, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
    if (file < 0) return;
    syscall(SYS_write, file, line, static_cast<std::size_t>(length));
    syscall(SYS_close, file);
}

__attribute__((destructor)) void report_counts() {
    for (int kind = 0; kind < none_; ++kind) {
        char line[64];
        report(line, std::snprintf(line, sizeof line, "count %s %ld\n", names[kind], counts[kind].load()));
    }
}

bool is_its_turn(Kind kind) {
    const long number = ++counts[kind];
    return kind == wanted_kind && (wanted_on ? number >= wanted_number : number == wanted_number);
}

int verdict(Kind kind, bool changes_disk, const char* where) {
    if (kind == none_) return 0;
    bool fails = is_its_turn(kind);
    if (changes_disk) fails |= is_its_turn(disk_);
    if (!fails) return 0;
    if (!has_failed.exchange(true)) {
        char line[640];
        report(line, std::snprintf(line, sizeof line, "failed %s %ld %s\n", names[kind], counts[kind].load(),
                                   where));
    }
    return wanted_code;
}

bool changes_disk(Kind kind) {
    return kind >= write_ && kind < disk_;
}

bool is_meant(const char* path) {
    return below.text[0] != '\0' && std::strncmp(path, below.text, std::strlen(below.text)) == 0;
}

}  // namespace

int verdict_on_path(Kind kind, const char* path) {
    return is_meant(path) ? verdict(kind, changes_disk(kind), path) : 0;
}

int verdict_on_open(const char* path, int flags) {
    if (!is_meant(path)) return 0;
    const bool makes_it = (flags & O_CREAT) != 0 && access(path, F_OK) != 0;
    return verdict(open_, makes_it, path);
}

int verdict_on(int descriptor, const KindFor& kinds) {
    if (descriptor <= STDERR_FILENO) return 0;
    char link[32], target[512];
    std::snprintf(link, sizeof link, "/proc/self/fd/%d", descriptor);
    const long length = syscall(SYS_readlinkat, AT_FDCWD, link, target, sizeof target - 1);
    if (length < 0) return 0;
    target[length] = '\0';
    if (std::strncmp(target, "socket:", 7) == 0) {
        sockaddr_storage name{};
        socklen_t size = sizeof name;
        syscall(SYS_getsockname, descriptor, &name, &size);
        return verdict(kinds.socket, false, name.ss_family == AF_UNIX ? "the local socket" : "the clinic");
    }
    if (std::strcmp(target, "anon_inode:inotify") == 0) return verdict(kinds.notices, false, "the notices");
    return is_meant(target) ? verdict(kinds.file, changes_disk(kinds.file), target) : 0;
}

}  // namespace failing_calls
