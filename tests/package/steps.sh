# What happens in the life of a package, step by step. Sourced by life.sh, which has `root`, `top` and `work`.
# shellcheck shell=bash

claims=0
claim() {
    claims=$((claims + 1))
    now=$1
    echo "$claims $1"
}
trap 'echo "not ok $claims ${now:-}: line $LINENO: $BASH_COMMAND" >&2' ERR
set -E

# expect TEXT SAID: the text is part of what was said.
expect() {
    case $2 in
        *"$1"*) ;;
        *) printf 'expected: %s\nfound: %s\n' "$1" "$2" >&2; return 1 ;;
    esac
}

gone() { [ ! -e "$root$1" ] || { echo "$1 is there" >&2; return 1; }; }

installed() { inside "dpkg-query -W -f '\${Version}' nightferry"; }

# What lies in the system, but for what package tools and users' lists keep for themselves.
everything_there() {
    (cd "$root" && find . -path ./proc -prune -o -path ./tmp -prune -o -path ./root -prune -o -path ./home -prune -o -path ./run -prune \
        -o -path ./var/cache -prune -o -path ./var/lib/dpkg -prune -o -path ./var/lib/apt -prune -o -path ./var/log -prune \
        -o -path './etc/*-' -prune -o -print | sort)
}

# put_in older|newer: as root, asking nothing; `said` is what it said.
put_in() {
    said=$(inside "apt-get install -y -qq --allow-downgrades --reinstall /root/$1.deb 2>&1") || { echo "$said" >&2; return 1; }
}

refuse() {
    if said=$(inside "dpkg -i /root/$1.deb 2>&1"); then
        echo "it was taken: $said" >&2
        return 1
    fi
}

# answering yes|no COMMAND: what a person types at the question.
answering() {
    inside "printf '%s\n' $1 | DEBIAN_FRONTEND=teletype $2 2>&1"
}

as_carer() { inside "setpriv --reuid carer --regid carer --init-groups -- env HOME=/home/carer $1"; }

# The packages in there that own what the programs load, one a line.
packages_loaded() {
    local library
    readelf -d "$root/usr/sbin/nightferryd" "$root/usr/bin/nightferry" | sed -n 's/.*(NEEDED).*\[\(.*\)\]$/\1/p' | sort -u |
        while read -r library; do
            inside "dpkg -S '*/$library'" | sed 's/:.*//' || exit 1
        done | sort -u
}

set_up_household() {
    inside 'useradd -m -G nightferry carer
        cd /etc/nightferry
        openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 30 -subj /CN=127.0.0.1 \
            -addext subjectAltName=IP:127.0.0.1 -keyout /root/clinic-key.pem -out /root/clinic.pem 2>/dev/null
        cp /root/clinic.pem clinic-ca.pem'
}

start_clinic() {
    (become_inside "cd /root && exec ./practice_clinic --journal clinic.ndjson --certificate clinic.pem --key clinic-key.pem \
        --patient 'urn:example:nowhere-clinic|TEST-000417' >clinic.out 2>clinic.log" </dev/null) &
    clinic=$!
    wait_for 20 grep -q ready "$root/root/clinic.out"
    local port
    port=$(sed -n 's/^ready //p' "$root/root/clinic.out")
    inside "zcat -f /usr/share/doc/nightferry/examples/demo/household.toml* | sed 's#https://127.0.0.1:8443/fhir#https://127.0.0.1:$port/fhir#
        s#^data = .*#data = \"/var/lib/nightferry/logbook\"#
        s#^inbox = .*#inbox = \"/var/lib/nightferry/inbox\"#
        s#^socket = .*#socket = \"/run/nightferry/nightferry.sock\"#' >/etc/nightferry/nightferry.toml
        chown root:nightferry /etc/nightferry/* && chmod 640 /etc/nightferry/* && nightferry check" >/dev/null
}

start_hub() {
    (become_inside 'exec setpriv --reuid nightferry --regid nightferry --init-groups nightferryd 2>>/root/hub.log' </dev/null) &
    hub=$!
    # Not as root, who could read the logbook without the daemon and be in its way.
    wait_for 20 as_carer 'nightferry queue'
}

# A clean stop ends well.
stop_hub() {
    kill "$hub"
    wait "$hub"
    hub=
}

stop_all() {
    [ -z "${hub:-}" ] || stop_hub
    [ -n "${clinic:-}" ] || return 0
    kill "$clinic"
    wait "$clinic" || true
    clinic=
}

# wait_for SECONDS COMMAND...
wait_for() {
    local tenths=$(($1 * 10))
    shift
    for _ in $(seq "$tenths"); do
        "$@" >/dev/null 2>&1 && return 0
        sleep 0.1
    done
    echo "did not happen in time: $*" >&2
    cat "$root"/root/*.log >&2
    return 1
}

# As a carer of the group drops files, readable for nobody else.
hand_in_demo() {
    inside 'cp -r /usr/share/doc/nightferry/examples/demo /home/carer/ && gunzip -f /home/carer/demo/*.gz 2>/dev/null; chown -R carer /home/carer/demo'
    as_carer 'cp /home/carer/demo/doses.csv /var/lib/nightferry/inbox/'
    wait_for 20 inside '[ -e /var/lib/nightferry/inbox/done/doses.csv ]'
    as_carer 'nightferry hand-in /home/carer/demo/findings.json /home/carer/demo/later.ndjson' >/dev/null
}

entries_listed() { as_carer 'nightferry --json list --limit 10000' | grep -o '"type":' | wc -l; }

all_at_the_clinic() {
    expect "Nothing is waiting" "$(as_carer 'nightferry waiting')"
    expect "it has everything that was recorded" "$(as_carer 'nightferry queue')"
}

# name_data_folder VALUE: as it stands in the settings, in quotes of its own. The daemon has to read it, too.
name_data_folder() {
    sed -i "s|^data = .*|data = $1|" "$root/etc/nightferry/nightferry.toml"
    inside 'nightferry check' >/dev/null
}

# Writes the version into the logbook's header, as a newer program would have.
mark_logbook() {
    inside "printf '\\0\\0\\0\\x$(printf %02x "$1")' | dd of=/var/lib/nightferry/logbook/logbook.sqlite bs=1 seek=60 conv=notrunc status=none"
}
