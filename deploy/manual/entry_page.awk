# Makes the manual page of the entry format out of its description in Markdown:
#   awk -v day=2026-11-26 -v version=0.1.0 -f roff.awk -f entry_page.awk entry-format.md
# A row of a table becomes an item: its first cell, then what the others say under their headings.

BEGIN {
    page_start("nightferry-entry", "format of the entries that a Nightferry hub takes in")
    print ".SH DESCRIPTION"
    after_heading = 1
}

function pour() {
    if (words != "") fill(inline(words))
    words = ""
}

function paragraph() {
    pour()
    if (in_table) print ".PD"
    in_table = 0
    gap = !after_heading
}

function cells_of(row, cells,    count, i) {
    gsub(/\\\|/, "\001", row)
    sub(/^\| */, "", row)
    sub(/ *\|$/, "", row)
    count = split(row, cells, / *\| */)
    for (i = 1; i <= count; ++i) gsub(/\001/, "|", cells[i])
    return count
}

function table_row(row,    cells, count, i, text) {
    count = cells_of(row, cells)
    print ".TP\n" inline(cells[1])
    # Headings of the first two columns say what a tag and its text are anyway.
    text = heads[1] == "" ? "" : cells[2]
    for (i = heads[1] == "" ? 2 : 3; i <= count; ++i) {
        if (cells[i] != "") text = text (text == "" ? "" : ". ") heads[i] ": " cells[i]
    }
    fill(inline(text) ".")
}

in_code && !/^```/ { verbatim($0); next }
/^```/ {
    after_heading = 0
    pour()
    if (!in_code) print ".PP"
    print in_code ? ".fi" : ".nf"
    in_code = !in_code
    gap = !in_code
    next
}
/^# / { next }
/^## / { paragraph(); print ".SH " toupper(inline(substr($0, 4))); gap = 0; after_heading = 1; next }
/^### / { paragraph(); print ".SS " inline(substr($0, 5)); gap = 0; after_heading = 1; next }
/^$/ { paragraph(); next }
{ after_heading = 0 }
/^\|[-|]+$/ { next }
/^\|/ {
    if (in_table) table_row($0)
    else cells_of($0, heads)
    in_table = 1
    gap = 0
    next
}
/^- / { pour(); print ".IP \\(bu 2"; words = substr($0, 3); gap = 0; next }
/^> / { sub(/^> /, "") }
{
    if (gap) print ".PP"
    gap = 0
    words = words " " $0
}

END {
    pour()
    page_end("nightferry.toml")
}
