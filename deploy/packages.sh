# Which Debian packages the build and the tests need, and how they are installed. Sourced by the other scripts.

# Debian 12 has Boost 1.74 under the plain name; we need 1.81 or newer.
boost_packages() {
    local version
    for version in 1.81 1.83 1.88 1.90; do
        if apt-cache show "libboost$version-dev" >/dev/null 2>&1; then
            echo "libboost$version-dev libboost-url$version-dev"
            return
        fi
    done
    echo "libboost-dev libboost-url-dev"
}

build_packages() {
    echo "g++ cmake ninja-build ccache rapidjson-dev libcli11-dev tzdata openssl curl ca-certificates $(build_libraries)"
}

# build_libraries [ARCHITECTURE]: those that have a build of their own for each.
build_libraries() {
    local package
    for package in libssl-dev libsqlite3-dev libtomlplusplus-dev zlib1g-dev libhowardhinnant-date-dev $(boost_packages); do
        printf "%s " "$package${1:+:$1}"
    done
}

# cross_packages ARCHITECTURE: what compiles for another machine, and runs what was compiled.
cross_packages() {
    echo "crossbuild-essential-$1 qemu-user-static $(build_libraries "$1")"
}

test_packages() {
    # What stands before a clinic and on the way to it, what looks at the wire between, and what runs the daemon or watches it.
    local packages="libgtest-dev libgmock-dev clang-format git nginx-light tinyproxy-bin tshark systemd mandoc man-db debootstrap"
    packages="$packages python3-prometheus-client"
    # What shows and prints our pages, with the fonts they name.
    packages="$packages chromium fonts-liberation"
    # A Node.js that did not come from Debian is as good.
    command -v node >/dev/null 2>&1 || packages="$packages nodejs"
    command -v npm >/dev/null 2>&1 || packages="$packages npm"
    echo "$packages $(package_packages)"
}

# What the Debian package is made with.
package_packages() {
    # build-essential is what Debian takes for granted, and its tools look for it.
    echo "build-essential debhelper dpkg-dev fakeroot po-debconf git ninja-build"
}

as_root() {
    if [ "$(id -u)" -eq 0 ]; then
        "$@"
    elif command -v sudo >/dev/null 2>&1; then
        sudo "$@"
    else
        echo "These packages have to be installed by root, and there is no sudo here:" >&2
        echo "  $*" >&2
        return 1
    fi
}

missing_of() {
    local package
    for package in "$@"; do
        dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || echo "$package"
    done
}

# install_missing PACKAGE...   says what it installs; the package manager's own words go to a file.
install_missing() {
    local missing log
    missing=$(missing_of "$@")
    [ -n "$missing" ] || return 0
    echo "Installing from Debian (a minute or two):" $missing
    log=$(mktemp)
    # shellcheck disable=SC2086  # the list is meant to fall apart into words
    if as_root apt-get install -y --no-install-recommends $missing >"$log" 2>&1; then
        rm -f "$log"
        return 0
    fi
    echo "Installing failed; the last lines of the package manager:" >&2
    tail -n 15 "$log" >&2
    return 1
}

# Fresh machines have no package lists yet; then even looking a package up finds nothing.
refresh_package_lists() {
    apt-cache show cmake >/dev/null 2>&1 && return 0
    echo "Fetching Debian's package lists"
    as_root apt-get update -qq
}
