# A bare Debian system in a folder, to see what happens where nothing else is installed. Sourced by the scripts that do.
# shellcheck shell=bash
# Needs root and debootstrap. `root` is its folder, set by whoever sources this.

# mirror SUITE: the mirror that this machine gets the suite from; without one debootstrap has its own default.
mirror() {
    apt-get indextargets --format '$(SITE)|$(RELEASE)' 2>/dev/null | awk -F'|' -v suite="$1" '$2 == suite { print $1; exit }'
}

# The machine's own file, put at the same place.
take_over() {
    [ ! -f "$1" ] || install -D -m 644 "$1" "$root$1"
}

# make_bare_system SUITE LOG: debootstrap's smallest, with the machine's way to its mirror.
make_bare_system() {
    # shellcheck disable=SC2046  # no mirror means no argument
    debootstrap --variant=minbase "$1" "$root" $(mirror "$1") >"$2" 2>&1 || { tail -n 20 "$2" >&2; return 1; }
    take_over /etc/resolv.conf
    take_over /etc/hosts
    take_over /etc/ssl/certs/ca-certificates.crt
    local file
    for file in /etc/apt/apt.conf.d/*proxy*; do take_over "$file"; done
}

enter_bare_system() { mount -t proc proc "$root/proc"; }

leave_bare_system() { umount -q "$root/proc" 2>/dev/null || true; }

# become_inside COMMANDS: the calling shell turns into one in there, as root, with nothing of this machine's surroundings
# but the way out.
become_inside() {
    exec env -i HOME=/root PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 TERM="${TERM:-dumb}" DEBIAN_FRONTEND=noninteractive \
        ${http_proxy:+http_proxy="$http_proxy"} ${https_proxy:+https_proxy="$https_proxy"} \
        chroot "$root" /bin/bash -c "$1"
}

inside() { (become_inside "$1"); }
