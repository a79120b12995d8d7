#!/bin/sh
# Boots the real systemd in namespaces of its own, on a copy of this system that vanishes afterwards, and has it run one
# script: boot.sh WORK SCRIPT. WORK is a folder that both see, inside as /mnt. What systemd says goes to WORK/boot.log.
# It needs root, overlayfs and a cgroup file system; where one is missing it ends with 77.
set -u
work=$1
script=$2
[ "$(id -u)" -eq 0 ] || { echo "it needs root"; exit 77; }
[ -x /lib/systemd/systemd ] || { echo "the package systemd is not there"; exit 1; }

base=$(mktemp -d)
hierarchies=
clean_up() {
    for hierarchy in $hierarchies; do
        echo $$ > "$hierarchy/cgroup.procs"
        find "$hierarchy/ferry-boot-$$" -depth -type d -exec rmdir {} + 2>/dev/null
    done
    umount --lazy "$base" 2>/dev/null
    rmdir "$base"
}
trap clean_up EXIT

mount -t tmpfs tmpfs "$base" || exit 77
mkdir "$base/upper" "$base/work" "$base/root"
root=$base/root
mount -t overlay overlay -o "lowerdir=/,upperdir=$base/upper,workdir=$base/work" "$root" || { echo "no overlayfs"; exit 77; }
mount --bind "$work" "$root/mnt" || exit 77

# A control group of our own, so that nothing else on this machine is touched.
for hierarchy in /sys/fs/cgroup /sys/fs/cgroup/unified /sys/fs/cgroup/systemd; do
    [ -f "$hierarchy/cgroup.procs" ] || continue
    mkdir "$hierarchy/ferry-boot-$$" && echo $$ > "$hierarchy/ferry-boot-$$/cgroup.procs" || continue
    hierarchies="$hierarchies $hierarchy"
done
[ -n "$hierarchies" ] || { echo "no control group can be made"; exit 77; }

cat > "$root/etc/systemd/system/ferry-inside.service" <<UNIT
[Unit]
DefaultDependencies=no
[Service]
Type=oneshot
ExecStart=/bin/sh -eux /mnt/$script
StandardOutput=file:/mnt/inside.log
StandardError=file:/mnt/inside.log
ExecStopPost=/bin/sh -c 'echo "\$EXIT_STATUS" > /mnt/status; systemctl --no-block exit 0'
UNIT

cat > "$root/mnt/.enter.sh" <<'ENTER'
mount -t proc proc /proc
mount -t tmpfs -o mode=755 tmpfs /run
mount -t tmpfs -o mode=1777 tmpfs /tmp
mount --rbind /old-root/dev /dev
if [ -f /old-root/sys/fs/cgroup/cgroup.procs ]; then
    mount -t sysfs sysfs /sys && mount -t cgroup2 cgroup2 /sys/fs/cgroup
else
    mount -t sysfs sysfs /sys && mount -t tmpfs tmpfs /sys/fs/cgroup && mkdir /sys/fs/cgroup/systemd /sys/fs/cgroup/unified
    mount -t cgroup -o none,name=systemd cgroup /sys/fs/cgroup/systemd
    mount -t cgroup2 cgroup2 /sys/fs/cgroup/unified
fi
umount --lazy /old-root
# As a container's manager leaves it; credentials are mounted through this.
mount --make-rshared /
echo 0123456789abcdef0123456789abcdef > /etc/machine-id
container=other exec /lib/systemd/systemd --system --unit=ferry-inside.service --log-target=console </dev/null
ENTER
unshare --pid --fork --mount --cgroup --ipc --uts --propagation private -- sh -c \
    "cd '$root' && mkdir -p old-root && mount --rbind '$root' '$root' && cd '$root' && pivot_root . old-root && exec chroot . sh /mnt/.enter.sh" \
    > "$work/boot.log" 2>&1
exit 0
