#include "daemon/logbook/rewrite.hpp"

namespace nightferry::logbook {

namespace {

Result<void> write_copy(Database& db, const std::filesystem::path& rough, Files& files) {
    auto statement = db.prepare("VACUUM INTO ?1");
    if (!statement) return statement.error();
    const auto copied = statement->bind(1, rough.string()).run();
    if (!copied) return copied.error();
    return files.sync(rough);
}

// A part of a copy is of no use to anybody and takes room, which may be what was lacking.
void clear(const std::filesystem::path& rough, Files& files) {
    for (const auto& path : {rough, std::filesystem::path(rough.string() + "-journal")})
        (void)files.remove(path);
}

}  // namespace

Result<void> copy_durably(Database& db, const std::filesystem::path& rough, const std::filesystem::path& copy,
                          Files& files) {
    clear(rough, files);
    auto written = write_copy(db, rough, files);
    if (!written && written.error().code == Errc::corrupt) {
        // While it copies, SQLite calls a page damaged also when the disk did not give it, and does not say
        // which it was. What is damaged stays so.
        clear(rough, files);
        written = write_copy(db, rough, files);
    }
    if (!written) {
        clear(rough, files);
        return written.error();
    }
    const auto renamed = files.rename(rough, copy);
    if (!renamed) return renamed.error();
    return files.sync_folder(copy.parent_path());
}

Result<void> finish_rewrite(const std::filesystem::path& file, Files& files) {
    const Beside beside(file);
    const auto size = files.size(beside.rewritten);
    if (!size) return size.error();
    if (!*size) return {};
    const auto cleared = remove_for_good(files, beside.leftovers);
    if (!cleared) return cleared.error();
    const auto old = files.size(file);
    if (!old) return old.error();
    if (*old) {
        const auto given = files.copy_rights(file, beside.rewritten);
        if (!given) return given.error();
    }
    const auto renamed = files.rename(beside.rewritten, file);
    if (!renamed) return renamed.error();
    const auto synced = files.sync_folder(beside.folder);
    if (!synced) return synced.error();
    return remove_for_good(files, {beside.in_doubt});
}

Result<void> rewrite(Database db, const std::filesystem::path& file, Files& files) {
    const Beside beside(file);
    const auto copied = copy_durably(db, beside.rewriting, beside.rewritten, files);
    if (!copied) return copied.error();
    { const Database closed = std::move(db); }
    return finish_rewrite(file, files);
}

}  // namespace nightferry::logbook
