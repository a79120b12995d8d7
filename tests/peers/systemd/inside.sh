# Runs inside, as a service of the real systemd. What the test outside looks at is written to /mnt.
# Until a condition holds; 30 s at most.
until_it_holds() {
    for _ in $(seq 150); do
        "$@" && return 0
        sleep 0.2
    done
    echo "did not happen: $*"
    exit 1
}
journal_has() { journalctl --no-pager -u nightferryd | grep -q "$1"; }
property() { systemctl show --property="$1" --value nightferryd; }

systemctl start systemd-journald
until_it_holds systemctl is-active systemd-journald
useradd --system --user-group --no-create-home --home-dir /nonexistent nightferry
useradd --create-home carer && usermod --append --groups nightferry carer
useradd --create-home stranger
install -m 755 /mnt/nightferryd /usr/sbin
install -m 755 /mnt/nightferry /usr/bin
install -m 644 /mnt/nightferryd.service /etc/systemd/system
install -d -m 750 -g nightferry /etc/nightferry
install -d -m 700 /etc/nightferry/private
install -m 640 -g nightferry /mnt/nightferry.toml /mnt/clinic-ca.pem /etc/nightferry
install -m 600 /mnt/token /etc/nightferry/private/token
mkdir -p /etc/systemd/system/nightferryd.service.d
printf '[Service]\nLoadCredential=token:/etc/nightferry/private/token\nWatchdogSec=4s\nRestartSec=1s\n' \
    > /etc/systemd/system/nightferryd.service.d/test.conf
systemctl daemon-reload

trap 'journalctl --no-pager -u nightferryd | tail -n 60' EXIT

# Ready means ready: the socket answers as soon as the start is over.
systemctl start nightferryd
runuser -u carer -- nightferry queue
property StatusText > /mnt/status-text
test "$(property ActiveState)" = active

# Whose is what: the group drops files in and reads what became of them, and sees no more.
stat -c '%n %U:%G %a' /var/lib/nightferry /var/lib/nightferry/logbook /var/lib/nightferry/inbox /run/nightferry \
    /run/nightferry/nightferry.sock > /mnt/rights
cat > /home/carer/w.json <<'ENTRY'
{"id": "w1", "type": "weight", "person": "juniper", "time": "2026-11-02T07:30:00Z", "by": "marlow", "kg": 18.5}
ENTRY
# As strict as a person's own files can be: the folder gives the file its group, and that is what counts.
runuser -u carer -- sh -c 'umask 027; cp /home/carer/w.json /var/lib/nightferry/inbox/w.json'
until_it_holds test -e /var/lib/nightferry/inbox/done/w.json
runuser -u carer -- test -r /var/lib/nightferry/inbox/done/w.json
! runuser -u carer -- ls /var/lib/nightferry/logbook
! runuser -u carer -- ls /var/lib/nightferry
! runuser -u stranger -- ls /var/lib/nightferry/inbox
! runuser -u stranger -- nightferry queue

# It crosses to the clinic, under the filter of system calls and with the token that systemd handed over.
runuser -u carer -- nightferry pass --wait 60
runuser -u carer -- nightferry queue > /mnt/queue

# Reload: bad settings refused, good ones taken; it stays the same process.
pid=$(property MainPID)
sed -i 's/^zone = "/zone = "Nowhere\//' /etc/nightferry/nightferry.toml
systemctl reload nightferryd
until_it_holds journal_has reload_refused
journal_has 'hub.zone'
install -m 640 -g nightferry /mnt/nightferry.toml /etc/nightferry
systemctl reload nightferryd
until_it_holds journal_has ' reloaded'
test "$(property MainPID)" = "$pid"
test "$(property ActiveState)" = active

# A process that no longer moves is replaced.
kill -STOP "$pid"
until_it_holds sh -c "test \"\$(systemctl show --property=MainPID --value nightferryd)\" -ne $pid"
until_it_holds sh -c "test \"\$(systemctl show --property=ActiveState --value nightferryd)\" = active"
runuser -u carer -- nightferry queue

# A clean end, soon.
began=$(date +%s%N)
systemctl stop nightferryd
echo $(( ($(date +%s%N) - began) / 1000000 )) > /mnt/stop-ms
property Result > /mnt/result
property ExecMainStatus > /mnt/exit
journalctl --no-pager -u nightferryd > /mnt/journal

# Encrypted to a key of this machine the file tells nothing, and the daemon gets what was in it.
systemd-creds encrypt --with-key=host --name=token /mnt/token /etc/nightferry/private/token.cred
! grep -q invented-token /etc/nightferry/private/token.cred
rm /etc/nightferry/private/token
sed -i 's#^LoadCredential=.*#LoadCredentialEncrypted=token:/etc/nightferry/private/token.cred#' \
    /etc/systemd/system/nightferryd.service.d/test.conf
systemctl daemon-reload
systemctl start nightferryd
runuser -u carer -- nightferry pass --wait 60 > /mnt/encrypted
systemctl stop nightferryd

# Without its credential it does not even start.
rm /etc/nightferry/private/token.cred
! systemctl start nightferryd
property ExecMainStatus > /mnt/without-credential
