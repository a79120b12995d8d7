#!/usr/bin/env bash
# Runs both README commands in a bare Debian system (debootstrap, minbase) with nothing but git and a clone,
# to prove that the scripts install everything they need. Needs root, debootstrap and about 4 GB below TMPDIR.
#
#   tests/bare_root.sh [SUITE]      SUITE is bookworm if left out
#
# The machine's own package mirror, certificates, proxy and npm settings are taken over into the bare system.
set -euo pipefail

top=$(cd "$(dirname "$0")/.." && pwd)
suite=${1:-bookworm}
work=$(mktemp -d)
root=$work/root

. "$top/tests/support/bare_system.sh"

clean_up() {
    leave_bare_system
    rm -rf "$work"
}
trap clean_up EXIT

echo "== Making a bare $suite in $root"
make_bare_system "$suite" "$work/debootstrap.log"
enter_bare_system
if registry=$(npm config get registry 2>/dev/null); then
    printf 'registry=%s\n' "$registry" >"$root/root/.npmrc"
    # Not in /etc/ssl: installing ca-certificates writes that anew.
    cafile=$(npm config get cafile 2>/dev/null || true)
    if [ -f "$cafile" ]; then
        install -D -m 644 "$cafile" "$root/root/machine-ca.pem"
        echo 'cafile=/root/machine-ca.pem' >>"$root/root/.npmrc"
    fi
fi

echo "== git and a clone"
inside 'apt-get update -qq && apt-get install -y -qq --no-install-recommends git ca-certificates >/dev/null 2>&1'
git clone --quiet "$top" "$root/root/nightferry"
echo "packages before: $(inside 'dpkg-query -W | wc -l')"

run() {
    local started=$SECONDS
    printf '\n== %s\n' "$1"
    inside "cd /root/nightferry && $1"
    echo "== $1 took $((SECONDS - started)) s"
}
run deploy/try.sh
run tests/run.sh
echo "packages after: $(inside 'dpkg-query -W | wc -l')"
