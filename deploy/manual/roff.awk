# What the manual pages made by awk have in common: text as roff wants it.

function escaped(text) {
    gsub(/\\/, "\\e", text)
    gsub(/-/, "\\-", text)
    return text
}

# `words` between backquotes in bold, links as their words.
function inline(text,    parts, count, i, made) {
    while (match(text, /\[[^]`]*\]\([^)]*\)/)) {
        made = substr(text, RSTART + 1, RLENGTH - 2)
        sub(/\]\(.*/, "", made)
        text = substr(text, 1, RSTART - 1) made substr(text, RSTART + RLENGTH)
    }
    gsub(/\*\*/, "", text)
    count = split(text, parts, "`")
    made = escaped(parts[1])
    for (i = 2; i <= count; ++i)
        made = made (i % 2 == 0 ? "\\fB" : "\\fR") escaped(parts[i])
    return count % 2 == 0 ? made "\\fR" : made
}

# Words in lines of at most 76 bytes, of which none begins like a command of roff.
function fill(text,    words, count, i, line) {
    count = split(text, words, /[ \t]+/)
    line = ""
    for (i = 1; i <= count; ++i) {
        if (words[i] == "") continue
        if (words[i] ~ /^[.']/) words[i] = "\\&" words[i]
        if (line != "" && length(line) + 1 + length(words[i]) > 76) {
            print line
            line = ""
        }
        line = line (line == "" ? "" : " ") words[i]
    }
    if (line != "") print line
}

function verbatim(line) {
    line = escaped(line)
    print (line ~ /^[.']/ ? "\\&" : "") line
}

function page_start(name, what) {
    printf ".TH %s 5 \"%s\" \"nightferry %s\"\n", toupper(escaped(name)), day, version
    printf ".SH NAME\n%s \\- %s\n", escaped(name), what
}

function page_end(other) {
    printf ".SH SEE ALSO\n\\fBnightferry\\fR(1),\n\\fBnightferryd\\fR(8),\n\\fB%s\\fR(5)\n", escaped(other)
}
