// Takes the waiting for the disk out of tests that are not about power cuts: a shim around SQLite's own file
// layer whose sync does nothing (https://www.sqlite.org/vfs.html, section "VFS shims").
#pragma once

#include <gtest/gtest.h>
#include <sqlite3.h>

#include <map>

namespace nightferry::test {

inline int open_without_sync(sqlite3_vfs* vfs, sqlite3_filename name, sqlite3_file* file, int flags,
                             int* flags_out) {
    static sqlite3_vfs* const original = sqlite3_vfs_find("unix");
    // One copy per kind of file: a main file locks, its WAL does not.
    static std::map<const sqlite3_io_methods*, sqlite3_io_methods> quick;
    const int code = original->xOpen(vfs, name, file, flags, flags_out);
    if (code != SQLITE_OK || file->pMethods == nullptr) return code;
    const auto [kind, is_new] = quick.emplace(file->pMethods, *file->pMethods);
    kind->second.xSync = [](sqlite3_file*, int) { return SQLITE_OK; };
    file->pMethods = &kind->second;
    return SQLITE_OK;
}

// For every database this process opens from now on.
inline void skip_disk_syncs() {
    static sqlite3_vfs quick = [] {
        sqlite3_vfs copy = *sqlite3_vfs_find("unix");
        copy.zName = "quick";
        copy.xOpen = open_without_sync;
        return copy;
    }();
    EXPECT_EQ(sqlite3_vfs_register(&quick, 1), SQLITE_OK);
}

}  // namespace nightferry::test
