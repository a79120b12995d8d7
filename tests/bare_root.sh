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

# The mirror that this machine gets the suite from; without one debootstrap has its own default.
mirror() {
    apt-get indextargets --format '$(SITE)|$(RELEASE)' 2>/dev/null | awk -F'|' -v suite="$suite" '$2 == suite { print $1; exit }'
}

clean_up() {
    umount -q "$root/proc" 2>/dev/null || true
    rm -rf "$work"
}
trap clean_up EXIT

inside() {
    env -i HOME=/root PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 TERM="${TERM:-dumb}" \
        ${http_proxy:+http_proxy="$http_proxy"} ${https_proxy:+https_proxy="$https_proxy"} \
        chroot "$root" /bin/bash -c "$1"
}

take_over() {
    [ ! -f "$1" ] || install -D -m 644 "$1" "$root$1"
}

echo "== Making a bare $suite in $root"
# shellcheck disable=SC2046  # no mirror means no argument
debootstrap --variant=minbase "$suite" "$root" $(mirror) >"$work/debootstrap.log" 2>&1 || { tail -n 20 "$work/debootstrap.log" >&2; exit 1; }
mount -t proc proc "$root/proc"
take_over /etc/resolv.conf
take_over /etc/hosts
take_over /etc/ssl/certs/ca-certificates.crt
for file in /etc/apt/apt.conf.d/*proxy*; do take_over "$file"; done
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
inside 'apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends git ca-certificates >/dev/null 2>&1'
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
