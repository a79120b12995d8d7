#!/usr/bin/env bash
# The container image: made from the package by deploy/Containerfile, it runs the demo household under its own user.
#
#   tests/package/image.sh PACKAGE
#
# Needs root, buildah, and the way to a Debian mirror. Where the base image cannot be fetched, a bare system from the
# mirror stands in for it under the same name.
set -euo pipefail

top=$(cd "$(dirname "$0")/../.." && pwd)
package=$(realpath "$1")
work=$(mktemp -d)
. "$top/deploy/packages.sh"
. "$top/tests/support/bare_system.sh"
. "$top/tests/package/steps.sh"
export BUILDAH_ISOLATION=chroot STORAGE_DRIVER=vfs DEBIAN_FRONTEND=noninteractive
install_missing buildah debootstrap

in_store() { buildah --root "$work/store" --runroot "$work/run" "$@"; }
clean_up() {
    in_store rm --all >/dev/null 2>&1 || true
    rm -rf "$work"
}
trap clean_up EXIT

base=$(sed -n 's/^FROM //p' "$top/deploy/Containerfile")
if ! timeout 60 buildah --root "$work/store" --runroot "$work/run" pull -q "$base" >/dev/null 2>&1; then
    root=$work/root
    make_bare_system "$(echo "$base" | sed 's/.*:\([a-z]*\).*/\1/')" "$work/debootstrap.log"
    bare=$(in_store from scratch)
    in_store add -q "$bare" "$root" / >/dev/null
    in_store commit -q "$bare" "$base" >/dev/null
    echo "A bare system stands in for $base."
fi

claim "the recipe makes an image of the package that runs as its own user"
mkdir "$work/context"
cp "$package" "$work/context/nightferry.deb"
in_store bud --pull-never -q -t nightferry -f "$top/deploy/Containerfile" "$work/context" >"$work/bud.log" 2>&1 || { cat "$work/bud.log" >&2; exit 1; }
image=$(in_store inspect --type image --format '{{.OCIv1.Config.User}} {{.OCIv1.Config.Entrypoint}} {{.OCIv1.Config.StopSignal}}' nightferry)
expect "nightferry [/usr/sbin/nightferryd] SIGTERM" "$image"

claim "with settings from outside it takes entries in, says so, and ends cleanly"
mkdir "$work/settings"
sed 's#^data = .*#data = "/var/lib/nightferry/logbook"#; s#^inbox = .*#inbox = "/var/lib/nightferry/inbox"#
    s#^socket = .*#socket = "/run/nightferry/nightferry.sock"#' "$top/config/demo/household.toml" >"$work/settings/nightferry.toml"
openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2 -subj /CN=127.0.0.1 -keyout /dev/null \
    -out "$work/settings/clinic-ca.pem" 2>/dev/null
cp "$top/config/demo/doses.csv" "$work/settings/"
chmod 755 "$work" "$work/settings"
chmod 644 "$work/settings"/*
container=$(in_store from --pull-never nightferry)
said=$(in_store run -v "$work/settings:/etc/nightferry:ro" "$container" -- sh -c '
    id -un
    nightferryd 2>/tmp/log & hub=$!
    for _ in $(seq 100); do nightferry queue >/dev/null 2>&1 && break; sleep 0.1; done
    nightferry hand-in /etc/nightferry/doses.csv
    nightferry queue
    kill $hub; wait $hub; echo "ended with $?"; cat /tmp/log')
expect "nightferry" "${said%%$'\n'*}"
expect "accepted 39" "$said"
expect "39 waiting" "$said"
expect "ended with 0" "$said"
