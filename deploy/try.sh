#!/usr/bin/env bash
# Builds Nightferry and runs its main job on this machine with an invented household: a practice clinic is
# started, a fortnight of records is handed in, and a pass carries them over. Ends by itself.
#
#   deploy/try.sh                  the whole try-out
#   deploy/try.sh hub              start the hub again (in the background)
#   deploy/try.sh clinic           start the practice clinic again (in the background)
#   deploy/try.sh stop-clinic      stop it
#   deploy/try.sh nightferry ARGS  the nightferry command with the try-out's settings
#   deploy/try.sh stop             stop everything
set -euo pipefail

top=$(cd "$(dirname "$0")/.." && pwd)
build=${NIGHTFERRY_BUILD:-$top/build}
home=$build/try
export DEBIAN_FRONTEND=noninteractive
. "$top/deploy/packages.sh"

say() { printf '\n== %s\n' "$*"; }

build_programs() {
    refresh_package_lists
    # shellcheck disable=SC2046
    install_missing $(build_packages)
    local started=$SECONDS
    cmake -S "$top" -B "$build" -G Ninja >"$build.log" 2>&1 || { cat "$build.log" >&2; return 1; }
    if [ -t 1 ]; then
        cmake --build "$build" --target nightferryd nightferry practice_clinic
    else
        cmake --build "$build" --target nightferryd nightferry practice_clinic | progress_lines
    fi
    rm -f "$build.log"
    echo "Built in $((SECONDS - started)) s: $build/nightferryd and $build/nightferry"
}

# One line in ten of ninja's, so that a file of the output stays readable.
progress_lines() {
    awk '/^\[[0-9]+\/[0-9]+\]/ { split(substr($1, 2), n, /[\/\]]/); if (n[1] % 10 == 0 || n[1] == n[2]) print "  built " n[1] " of " n[2]; fflush(); next } { print; fflush() }'
}

make_certificates() {
    [ -f "$home/clinic-key.pem" ] && return 0
    local request=$home/clinic.csr
    openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 30 -subj "/CN=Nightferry try-out CA" \
        -addext "basicConstraints=critical,CA:TRUE" -addext "keyUsage=critical,keyCertSign" \
        -keyout "$home/clinic-ca-key.pem" -out "$home/clinic-ca.pem" 2>/dev/null
    openssl req -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -subj "/CN=127.0.0.1" \
        -keyout "$home/clinic-key.pem" -out "$request" 2>/dev/null
    openssl x509 -req -in "$request" -CA "$home/clinic-ca.pem" -CAkey "$home/clinic-ca-key.pem" -CAcreateserial -days 30 \
        -extfile <(printf 'subjectAltName=IP:127.0.0.1\nextendedKeyUsage=serverAuth\n') -out "$home/clinic.pem" 2>/dev/null
    rm -f "$request"
}

is_running() { [ -f "$home/$1.pid" ] && kill -0 "$(cat "$home/$1.pid")" 2>/dev/null; }

stop_one() {
    is_running "$1" || { rm -f "$home/$1.pid"; return 0; }
    local pid
    pid=$(cat "$home/$1.pid")
    kill "$pid"
    for _ in $(seq 100); do
        kill -0 "$pid" 2>/dev/null || break
        sleep 0.05
    done
    rm -f "$home/$1.pid"
}

# wait_for SECONDS WHAT COMMAND...
wait_for() {
    local tenths=$(($1 * 10)) what=$2
    shift 2
    for _ in $(seq "$tenths"); do
        "$@" >/dev/null 2>&1 && return 0
        sleep 0.1
    done
    echo "$what did not happen in time; see the logs in $home" >&2
    return 1
}

start_clinic() {
    is_running clinic && { echo "The practice clinic is running."; return 0; }
    local port=0
    [ -f "$home/port" ] && port=$(cat "$home/port")
    setsid "$build/practice_clinic" --journal "$home/clinic.ndjson" --certificate "$home/clinic.pem" --key "$home/clinic-key.pem" \
        --port "$port" --patient 'urn:example:nowhere-clinic|TEST-000417' >"$home/clinic.out" 2>>"$home/clinic.log" </dev/null &
    echo $! >"$home/clinic.pid"
    wait_for 10 "The practice clinic's start" grep -q ready "$home/clinic.out"
    sed -n 's/^ready //p' "$home/clinic.out" >"$home/port"
    echo "The practice clinic listens on https://127.0.0.1:$(cat "$home/port")/fhir"
}

nightferry() { "$build/nightferry" --settings "$home/household.toml" "$@"; }

start_hub() {
    is_running hub && { echo "The hub is running."; return 0; }
    setsid "$build/nightferryd" --settings "$home/household.toml" 2>>"$home/hub.log" </dev/null &
    echo $! >"$home/hub.pid"
    wait_for 10 "The hub's start" nightferry queue
    echo "The hub runs; its log is $home/hub.log"
}

inbox_is_empty() { [ -z "$(find "$home/inbox" -maxdepth 1 -type f)" ]; }

lay_out() {
    stop_one hub
    stop_one clinic
    rm -rf "$home"
    mkdir -p "$home"
    make_certificates
}

hand_in() {
    say "Handing in: two files dropped into the inbox folder"
    cp "$top/config/demo/doses.csv" "$top/config/demo/with-mistakes.csv" "$home/inbox/"
    wait_for 20 "Taking the files in" inbox_is_empty
    echo "in done/:    $(ls "$home/inbox/done" | tr '\n' ' ')"
    echo "in refused/: $(ls "$home/inbox/refused" | tr '\n' ' ')"
    echo "The hub's log counts them (names of files and people never go into it):"
    sed -n 's/.* file_taken /    /p' "$home/hub.log"
    echo "What lies beside the refused one:"
    sed 's/^/    | /' "$home/inbox/refused/with-mistakes.csv.reason.txt"
    say "Handing in: the rest over the local API"
    nightferry hand-in "$top/config/demo/findings.json" "$top/config/demo/later.ndjson"
}

report() {
    say "What the carer wants to know: does the clinic have it?"
    nightferry queue
    echo "The newest entries:"
    nightferry list --limit 3
    say "What became of the doses of the fortnight, on one page"
    nightferry report --from 2026-10-12 --to 2026-11-01
    say "What the clinic now holds, by type and status"
    "$build/practice_clinic" --journal "$home/clinic.ndjson" --summary
    say "What IT wants to know"
    echo "receipts   $(nightferry --json list --limit 10000 | grep -o '"receipts":' | wc -l) of the family's own entries with the clinic's receipt"
    echo "waiting    $(nightferry waiting | head -n 1)"
    echo "set aside  $(nightferry set-aside | head -n 1)"
    echo "log        $(wc -l <"$home/hub.log") lines, $(grep -c ' error ' "$home/hub.log" || true) errors, in $home/hub.log"
    echo "settings   $home/household.toml"
    echo "logbook    $home/data/logbook.sqlite, with its journal $(du -sh "$home/data" | cut -f1)"
    echo "inbox      $home/inbox"
    echo "memory     $(awk '/VmRSS/ { printf "%.1f MiB", $2 / 1024 }' "/proc/$(cat "$home/hub.pid")/status") resident in the hub"
}

what_next() {
    cat <<EOF

== Everything was stopped again. Try next, with the clinic away:
  deploy/try.sh hub
  deploy/try.sh nightferry record dose_given person=juniper by=marlow medicine=enoxaparin-100 amount='0.20 mL' region=abdomen side=left
  deploy/try.sh nightferry pass --wait 3      # nobody answers: the entry waits
  deploy/try.sh nightferry waiting
  deploy/try.sh clinic                        # the clinic comes back
  deploy/try.sh nightferry pass --wait 60     # and the entry crosses
  deploy/try.sh stop

This household is invented. Nightferry records; it never advises a dose, and nobody watches it in
real time. In an emergency call your local emergency number; for questions about treatment call your clinic.
EOF
}

try_out() {
    say "Building (the first time takes a few minutes)"
    mkdir -p "$build"
    build_programs
    say "Starting a practice clinic with a certificate authority made on the spot, and the hub"
    lay_out
    trap 'stop_one hub; stop_one clinic' EXIT
    start_clinic
    sed "s#https://127.0.0.1:8443/fhir#https://127.0.0.1:$(cat "$home/port")/fhir#" "$top/config/demo/household.toml" >"$home/household.toml"
    start_hub
    hand_in
    say "A pass: everything that waits crosses to the clinic"
    nightferry pass --wait 120
    report
    stop_one hub
    stop_one clinic
    what_next
}

needs_a_try_out() {
    [ -f "$home/household.toml" ] && return 0
    echo "There is nothing to start yet; run deploy/try.sh first." >&2
    exit 69
}

case ${1:-all} in
    all) try_out ;;
    hub) needs_a_try_out; start_hub ;;
    clinic) needs_a_try_out; start_clinic ;;
    stop-clinic) stop_one clinic ;;
    stop) stop_one hub; stop_one clinic ;;
    nightferry) shift; needs_a_try_out; nightferry "$@" ;;
    *) sed -n '2,11s/^# \{0,1\}//p' "$0" >&2; exit 64 ;;
esac
