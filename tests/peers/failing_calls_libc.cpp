// The C library's own names, as programs and their libraries call them: each asks failing_calls.cpp and then
// fails or goes to the kernel directly, so that nothing here can meet itself. Only what nightferryd and the
// libraries below it call is here.
#include <dirent.h>
#include <dlfcn.h>
#include <fcntl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <unistd.h>

#include <cerrno>
#include <cstdarg>
#include <cstdio>

#include "tests/peers/failing_calls.hpp"

namespace {

using namespace failing_calls;

template <class T = int>
T fail(int code) {
    errno = code;
    return T{-1};
}

ssize_t moved(long count) {
    return static_cast<ssize_t>(count);
}

std::size_t half(std::size_t count) {
    return count > 1 ? count / 2 : count;
}

int open_at(int folder, const char* path, int flags, mode_t mode) {
    const int code = verdict_on_open(path, flags);
    return code > 0 ? fail(code) : static_cast<int>(syscall(SYS_openat, folder, path, flags, mode));
}

FILE* open_stream(const char* symbol, const char* path, const char* mode) {
    const int code = verdict_on_open(path, *mode == 'r' ? O_RDONLY : O_WRONLY | O_CREAT);
    if (code > 0) {
        errno = code;
        return nullptr;
    }
    using Open = FILE* (*)(const char*, const char*);
    return reinterpret_cast<Open>(dlsym(RTLD_NEXT, symbol))(path, mode);
}

template <class Entry>
Entry* next_name(const char* symbol, DIR* folder) {
    const int code = verdict_on(dirfd(folder), {.file = list_});
    if (code > 0) {
        errno = code;
        return nullptr;
    }
    return reinterpret_cast<Entry* (*)(DIR*)>(dlsym(RTLD_NEXT, symbol))(folder);
}

mode_t mode_argument(int flags, std::va_list arguments) {
    return (flags & O_CREAT) != 0 ? static_cast<mode_t>(va_arg(arguments, unsigned)) : 0;
}

}  // namespace

extern "C" {

int open(const char* path, int flags, ...) {
    std::va_list arguments;
    va_start(arguments, flags);
    const mode_t mode = mode_argument(flags, arguments);
    va_end(arguments);
    return open_at(AT_FDCWD, path, flags, mode);
}
int open64(const char* path, int flags, ...) {
    std::va_list arguments;
    va_start(arguments, flags);
    const mode_t mode = mode_argument(flags, arguments);
    va_end(arguments);
    return open_at(AT_FDCWD, path, flags, mode);
}
int openat(int folder, const char* path, int flags, ...) {
    std::va_list arguments;
    va_start(arguments, flags);
    const mode_t mode = mode_argument(flags, arguments);
    va_end(arguments);
    return open_at(folder, path, flags, mode);
}
FILE* fopen(const char* path, const char* mode) {
    return open_stream("fopen", path, mode);
}
FILE* fopen64(const char* path, const char* mode) {
    return open_stream("fopen64", path, mode);
}
dirent* readdir(DIR* folder) {
    return next_name<dirent>("readdir", folder);
}
dirent64* readdir64(DIR* folder) {
    return next_name<dirent64>("readdir64", folder);
}

ssize_t write(int file, const void* bytes, std::size_t count) {
    const int code = verdict_on(file, {.socket = send_, .file = write_});
    if (code > 0) return fail<ssize_t>(code);
    return moved(syscall(SYS_write, file, bytes, code == only_half ? half(count) : count));
}
ssize_t writev(int file, const iovec* parts, int count) {
    const int code = verdict_on(file, {.socket = send_, .file = write_});
    if (code > 0) return fail<ssize_t>(code);
    if (code == only_half) return moved(syscall(SYS_write, file, parts->iov_base, half(parts->iov_len)));
    return moved(syscall(SYS_writev, file, parts, count));
}
ssize_t pwrite64(int file, const void* bytes, std::size_t count, off64_t at) {
    const int code = verdict_on(file, {.file = pwrite_});
    if (code > 0) return fail<ssize_t>(code);
    return moved(syscall(SYS_pwrite64, file, bytes, code == only_half ? half(count) : count, at));
}
ssize_t pwrite(int file, const void* bytes, std::size_t count, off_t at) {
    return pwrite64(file, bytes, count, at);
}
ssize_t read(int file, void* bytes, std::size_t count) {
    const int code = verdict_on(file, {.socket = recv_, .file = read_, .notices = notice_});
    return code > 0 ? fail<ssize_t>(code) : moved(syscall(SYS_read, file, bytes, count));
}
ssize_t readv(int file, const iovec* parts, int count) {
    const int code = verdict_on(file, {.socket = recv_, .file = read_, .notices = notice_});
    return code > 0 ? fail<ssize_t>(code) : moved(syscall(SYS_readv, file, parts, count));
}
ssize_t pread64(int file, void* bytes, std::size_t count, off64_t at) {
    const int code = verdict_on(file, {.file = pread_});
    return code > 0 ? fail<ssize_t>(code) : moved(syscall(SYS_pread64, file, bytes, count, at));
}
ssize_t pread(int file, void* bytes, std::size_t count, off_t at) {
    return pread64(file, bytes, count, at);
}

int fsync(int file) {
    const int code = verdict_on(file, {.file = sync_});
    return code > 0 ? fail(code) : static_cast<int>(syscall(SYS_fsync, file));
}
int fdatasync(int file) {
    const int code = verdict_on(file, {.file = sync_});
    return code > 0 ? fail(code) : static_cast<int>(syscall(SYS_fdatasync, file));
}
int ftruncate64(int file, off64_t length) noexcept {
    const int code = verdict_on(file, {.file = truncate_});
    return code > 0 ? fail(code) : static_cast<int>(syscall(SYS_ftruncate, file, length));
}
int ftruncate(int file, off_t length) noexcept {
    return ftruncate64(file, length);
}

int rename(const char* from, const char* to) noexcept {
    const int code = verdict_on_path(rename_, from);
    return code > 0 ? fail(code) : static_cast<int>(syscall(SYS_renameat2, AT_FDCWD, from, AT_FDCWD, to, 0));
}
int unlink(const char* path) noexcept {
    const int code = verdict_on_path(unlink_, path);
    return code > 0 ? fail(code) : static_cast<int>(syscall(SYS_unlinkat, AT_FDCWD, path, 0));
}
int mkdir(const char* path, mode_t mode) noexcept {
    const int code = verdict_on_path(mkdir_, path);
    return code > 0 ? fail(code) : static_cast<int>(syscall(SYS_mkdirat, AT_FDCWD, path, mode));
}
int chmod(const char* path, mode_t mode) noexcept {
    const int code = verdict_on_path(mode_, path);
    return code > 0 ? fail(code) : static_cast<int>(syscall(SYS_fchmodat, AT_FDCWD, path, mode));
}
int fchmodat(int folder, const char* path, mode_t mode, int) noexcept {
    const int code = verdict_on_path(mode_, path);
    return code > 0 ? fail(code) : static_cast<int>(syscall(SYS_fchmodat, folder, path, mode));
}

int accept(int socket, sockaddr* address, socklen_t* length) {
    const int code = verdict_on(socket, {.socket = accept_});
    if (code == 0) return static_cast<int>(syscall(SYS_accept4, socket, address, length, 0));
    // A connection that was aborted is gone; after any other error it still waits.
    if (code == ECONNABORTED) syscall(SYS_close, syscall(SYS_accept4, socket, nullptr, nullptr, 0));
    return fail(code);
}
int connect(int socket, const sockaddr* address, socklen_t length) {
    const int code = verdict_on(socket, {.socket = connect_});
    return code > 0 ? fail(code) : static_cast<int>(syscall(SYS_connect, socket, address, length));
}
ssize_t sendto(int socket, const void* bytes, std::size_t count, int flags, const sockaddr* to,
               socklen_t length) {
    const int code = verdict_on(socket, {.socket = send_});
    if (code > 0) return fail<ssize_t>(code);
    return moved(syscall(SYS_sendto, socket, bytes, count, flags, to, length));
}
ssize_t send(int socket, const void* bytes, std::size_t count, int flags) {
    return sendto(socket, bytes, count, flags, nullptr, 0);
}
ssize_t sendmsg(int socket, const msghdr* message, int flags) {
    const int code = verdict_on(socket, {.socket = send_});
    return code > 0 ? fail<ssize_t>(code) : moved(syscall(SYS_sendmsg, socket, message, flags));
}
ssize_t recvfrom(int socket, void* bytes, std::size_t count, int flags, sockaddr* from, socklen_t* length) {
    const int code = verdict_on(socket, {.socket = recv_});
    return code > 0 ? fail<ssize_t>(code)
                    : moved(syscall(SYS_recvfrom, socket, bytes, count, flags, from, length));
}
ssize_t recv(int socket, void* bytes, std::size_t count, int flags) {
    return recvfrom(socket, bytes, count, flags, nullptr, nullptr);
}
ssize_t recvmsg(int socket, msghdr* message, int flags) {
    const int code = verdict_on(socket, {.socket = recv_});
    return code > 0 ? fail<ssize_t>(code) : moved(syscall(SYS_recvmsg, socket, message, flags));
}

}  // extern "C"
