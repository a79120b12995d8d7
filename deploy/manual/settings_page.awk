# Makes the manual page of the settings file out of the sample, which explains every key:
#   awk -v day=2026-11-26 -v version=0.1.0 -f roff.awk -f settings_page.awk nightferry.sample.toml
# What the comments above a heading or a key and behind it say becomes its text.

BEGIN {
    page_start("nightferry.toml", "settings of a Nightferry hub")
    print ".SH DESCRIPTION"
    place = "description"
}

function pour() {
    if (words != "") fill(inline(words))
    words = ""
    if (in_code) print ".fi"
    in_code = 0
}

function end_values() {
    if (in_values) print ".RE"
    in_values = 0
}

# One line of a comment, without its mark: words, a mistake, a value and its meaning, or something to copy.
function say(line,    value) {
    if (line ~ /^  +Mistake:/) {
        pour()
        print ".br"
        gsub(/ +/, " ", line)
        words = line
        return
    }
    if (match(line, /^  "[^"]+"  +/)) {
        pour()
        value = substr(line, 1, RLENGTH)
        gsub(/^ +| +$/, "", value)
        if (!in_values) print ".RS"
        in_values = 1
        print ".TP\n\\fB" escaped(value) "\\fR"
        words = substr(line, RLENGTH + 1)
        return
    }
    if (line ~ /^  / && in_values) {
        words = words " " line
        return
    }
    if (line ~ /^  /) {
        if (!in_code) {
            pour()
            print ".nf"
        }
        in_code = 1
        verbatim(line)
        return
    }
    if (in_code || in_values) pour()
    end_values()
    words = words " " line
}

function tell(behind,    i) {
    for (i = 1; i <= said; ++i) say(above[i])
    words = words " " behind
    said = 0
}

function open_item(mark) {
    pour()
    end_values()
    print mark
}

# In the description a line that stands further left than the next one is its heading.
function description_line(line) {
    if (line ~ /^    /) {
        if (!in_code) pour()
        if (!in_code) print ".nf"
        in_code = 1
        verbatim(line)
    } else if (line == "") {
        pour()
        gap = 1
    } else if (gap && line !~ /^  / && (line == "How it is written" || line == "What a mistake looks like")) {
        open_item(".SS " line)
        gap = 0
    } else {
        if (in_code) pour()
        if (gap) print ".PP"
        gap = 0
        words = words " " line
    }
}

/^#?\[/ {
    if (place == "description") open_item(".SH SETTINGS")
    place = "settings"
    line = $0
    sub(/^#/, "", line)
    behind = line ~ /#/ ? line : ""
    sub(/^[^#]*#[ \t]*/, "", behind)
    sub(/[ \t]*#.*/, "", line)
    open_item(".SS " escaped(line))
    tell(behind)
    next
}

place == "settings" && /^#?[a-z_0-9-]+ = "/ {
    line = $0
    sub(/^#/, "", line)
    # The value may hold a number sign itself.
    match(line, /^[a-z_0-9-]+ = "[^"]*"/)
    behind = substr(line, RLENGTH + 1)
    sub(/^[ \t]*#[ \t]*/, "", behind)
    if (said == 0 && behind == "") behind = "See above."
    open_item(".TP\n\\fB" escaped(substr(line, 1, RLENGTH)) "\\fR")
    tell(behind)
    next
}

place == "settings" && /^[ \t]+#/ {
    sub(/^[ \t]+#[ \t]*/, "")
    words = words " " $0
    next
}

/^#/ {
    sub(/^# ?/, "")
    if (place == "description") description_line($0)
    else above[++said] = $0
}

END {
    pour()
    end_values()
    page_end("nightferry-entry")
}
