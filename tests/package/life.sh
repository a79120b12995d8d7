#!/usr/bin/env bash
# The life of the package in a bare Debian system: installed, filled in, run, upgraded, put back, removed, purged.
# The daemon runs there under its own user, takes the demo files and passes to the practice clinic.
#
#   tests/package/life.sh BUILD             BUILD has the programs and the practice clinic; its programs are packed
#   tests/package/life.sh BUILD PACKAGE     with a package that is there already
#
# Needs root, debootstrap, Node.js and the way to a Debian mirror. The bare system is kept in BUILD/bare for the next time.
set -euo pipefail

if [ "$(id -u)" -ne 0 ]; then
    echo "Left out: making a bare system needs root."
    exit 77
fi
top=$(cd "$(dirname "$0")/../.." && pwd)
build=$(cd "$1" && pwd)
work=$(mktemp -d)
root=$work/root
suite=$(. /etc/os-release && echo "$VERSION_CODENAME")
. "$top/tests/support/bare_system.sh"
. "$top/tests/package/steps.sh"

clean_up() {
    [ ! -d "$root" ] || stop_all
    leave_bare_system
    rm -rf "$work"
}
trap clean_up EXIT

# The system with what the package depends on, made once.
bare_system_with_dependencies() {
    local depends=$1 kept
    kept=$build/bare/$suite-$(printf '%s' "$depends" | sha256sum | cut -c1-12).tar
    mkdir -p "$root"
    if [ ! -f "$kept" ]; then
        mkdir -p "$build/bare"
        make_bare_system "$suite" "$work/debootstrap.log"
        enter_bare_system
        inside "apt-get update -qq && apt-get install -y -qq --no-install-recommends systemd-standalone-sysusers systemd-standalone-tmpfiles openssl &&
            apt-get satisfy -y -qq --no-install-recommends '$depends'" >"$work/dependencies.log" 2>&1 || { tail "$work/dependencies.log" >&2; exit 1; }
        leave_bare_system
        tar -C "$root" -cf "$kept.new" . && mv "$kept.new" "$kept"
    else
        tar -C "$root" -xf "$kept"
    fi
    enter_bare_system
}

# Another build of the same package, one version further.
newer_build() {
    dpkg-deb -R "$1" "$work/unpacked"
    sed -i 's/^Version: .*/&+1/' "$work/unpacked/DEBIAN/control"
    dpkg-deb --root-owner-group -b "$work/unpacked" "$2" >/dev/null
}

older=${2:-}
if [ -z "$older" ]; then
    "$top/deploy/package.sh" --prebuilt "$build" --out "$work/packages" >/dev/null
    older=$(echo "$work"/packages/nightferry_*.deb)
fi
claim "lintian finds neither errors nor warnings"
. "$top/deploy/packages.sh"
DEBIAN_FRONTEND=noninteractive install_missing lintian
lintian --allow-root --fail-on error,warning "$older"

bare_system_with_dependencies "$(dpkg-deb -f "$older" Depends)"
cp "$older" "$root/root/older.deb"
newer_build "$older" "$root/root/newer.deb"
cp "$build/practice_clinic" "$root/root/"
version=$(dpkg-deb -f "$older" Version)
newer_version=$version+1

everything_there >"$work/before"

claim "installing makes user, folders and service, starts nothing, and says what comes next"
put_in older
expect "nightferry check" "$said"
# There is no systemd in here.
expect "--init-groups nightferryd" "$said"
expect "as there is no systemd here" "$said"
expect "/usr/share/doc/nightferry/deploy/install.md" "$said"
inside 'grep -q "^## Without systemd" /usr/share/doc/nightferry/deploy/install.md'
expect "nightferry:x:" "$(inside 'getent passwd nightferry')"
expect "/usr/sbin/nologin" "$(inside 'getent passwd nightferry')"
expect "750 root nightferry" "$(inside 'stat -c "%a %U %G" /etc/nightferry')"
expect "2710 nightferry nightferry" "$(inside 'stat -c "%a %U %G" /var/lib/nightferry')"
expect "2770 nightferry nightferry" "$(inside 'stat -c "%a %U %G" /var/lib/nightferry/inbox')"
inside 'test -L /etc/systemd/system/multi-user.target.wants/nightferryd.service'
gone /etc/nightferry/nightferry.toml

claim "the pages that it brings lead to each other"
dead=$(cd "$root/usr/share/doc/nightferry" && find . -name '*.md' | while read -r page; do
    { grep -oE '\]\([^)#:]+[)#]' "$page" || true; } | sed 's/^](//; s/[)#]$//' | while read -r link; do
        [ -e "$(dirname "$page")/$link" ] || echo "$page: $link"
    done
done)
[ -z "$dead" ] || { echo "$dead" >&2; false; }
[ -s "$root/usr/share/doc/nightferry/deploy/threats.md" ]

claim "its bill of materials names what the programs load and what they are made of"
# shellcheck disable=SC2046  # the list is meant to fall apart into words
node "$top/tests/package/bill_of_materials.mjs" "$root/usr/share/doc/nightferry/bill-of-materials.spdx.json" $(packages_loaded)

claim "a build that does not tell its headers gets no bill of materials"
mkdir "$work/silent" && cp "$build/CMakeCache.txt" "$work/silent/" && : >"$work/silent/build.ninja"
if said=$("$top/deploy/bill_of_materials.sh" "$work/silent" "$work/unpacked" 2>&1); then
    echo "one was made: $said" >&2
    exit 1
fi
expect "does not tell which headers" "$said"

claim "the sample that it brings is found good, once copied as it says"
inside 'install -m 640 -g nightferry /usr/share/nightferry/nightferry.sample.toml /etc/nightferry/nightferry.toml && nightferry check' >/dev/null

claim "the demo household runs under its own user, a carer of the group hands in, and the clinic gets it all"
set_up_household
start_clinic
start_hub
hand_in_demo
as_carer 'nightferry pass --wait 60' >/dev/null
all_at_the_clinic
entries=$(entries_listed)
[ "$entries" -gt 20 ]

claim "an upgrade asks nothing and keeps settings and records"
settings=$(inside 'sha256sum /etc/nightferry/*')
put_in newer
expect "$newer_version" "$(installed)"
[ "$settings" = "$(inside 'sha256sum /etc/nightferry/*')" ]
stop_hub
start_hub
[ "$entries" = "$(entries_listed)" ]
stop_hub

claim "without a daemon a carer is told so, and sees nothing of the logbook"
expect "nobody listens on" "$(as_carer 'nightferry queue' 2>&1 || true)"

claim "what root restores where no data folder is yet, the hub's own user takes up"
inside 'nightferry backup /root/backup && mv /var/lib/nightferry/logbook /root/away && nightferry restore /root/backup' >/dev/null
expect "nightferry nightferry" "$(inside 'stat -c "%U %G" /var/lib/nightferry/logbook')"
start_hub
[ "$entries" = "$(entries_listed)" ]
stop_hub
inside 'rm -r /root/away /root/backup'

claim "an older package is taken over the same logbook"
put_in older
expect "$version" "$(installed)"

claim "an older package is refused over a logbook of a newer version, and nothing changes"
put_in newer
mark_logbook 99
refuse older
expect "logbook version" "$said"
expect "99" "$said"
expect "$newer_version" "$(installed)"
expect "install ok installed" "$(inside "dpkg-query -W -f '\${Status}' nightferry")"
inside 'test -x /usr/sbin/nightferryd'

claim "the same where the data lie elsewhere, as the settings say in either kind of quotes"
inside 'mv /var/lib/nightferry/logbook /srv/records'
for quote in '"' "'"; do
    name_data_folder "$quote/srv/records$quote # not \"here\", 'there'"
    refuse older
    expect "/srv/records/logbook.sqlite" "$said"
done
inside 'mv /srv/records /var/lib/nightferry/logbook'
name_data_folder '"/var/lib/nightferry/logbook"'
mark_logbook "$(cat "$build/logbook-version")"

claim "removing leaves records and settings, and putting it back takes up where it was left"
inside 'apt-get remove -y -qq nightferry' >/dev/null 2>&1
gone /usr/sbin/nightferryd
inside 'test -s /var/lib/nightferry/logbook/logbook.sqlite && test -s /etc/nightferry/nightferry.toml'
put_in newer
start_hub
[ "$entries" = "$(entries_listed)" ]
stop_hub

claim "purging keeps both where nobody answers"
said=$(inside 'apt-get purge -y -qq nightferry 2>&1')
expect "were kept" "$said"
inside 'test -s /var/lib/nightferry/logbook/logbook.sqlite && test -s /etc/nightferry/nightferry.toml'

claim "purging asks, and keeps both when told so"
put_in newer
said=$(answering no 'dpkg --purge nightferry')
expect "for good" "$said"
inside 'test -s /var/lib/nightferry/logbook/logbook.sqlite && test -s /etc/nightferry/nightferry.toml'

claim "purging after removing asks as well, and leaves nothing behind when told to delete"
put_in newer
inside 'apt-get remove -y -qq nightferry' >/dev/null 2>&1
said=$(answering yes 'dpkg --purge nightferry')
expect "for good" "$said"
stop_all
everything_there >"$work/after"
diff "$work/before" "$work/after"

claim "deleting can be answered beforehand, for machines that are set up by other machines"
put_in newer
inside 'echo nightferry nightferry/purge-records boolean true | debconf-set-selections && apt-get purge -y -qq nightferry' >/dev/null 2>&1
gone /var/lib/nightferry
gone /etc/nightferry

echo "# tests $claims"
