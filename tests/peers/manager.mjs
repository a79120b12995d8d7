// A service manager as far as sd_notify(3) goes: a datagram socket that keeps what it hears. Node has no datagram sockets
// of the Unix domain, so the few lines that hold it are Perl, which every Debian has.

import { spawn } from 'node:child_process';
import { once } from 'node:events';

const LISTEN = `
use Socket;
$| = 1;
socket(my $own, PF_UNIX, SOCK_DGRAM, 0) or die $!;
my $name = $ARGV[0];
$name =~ s/^@/\\0/;
bind($own, pack_sockaddr_un($name)) or die $!;
print "listening\\n";
while (defined recv($own, my $message, 65536, 0)) { $message =~ s/\\n/|/g; print "$message\\n"; }
`;

/** Listens at a path or an abstract address ("@name"); `heard` fills with the messages, their lines joined by "|". */
export async function startManager(test, address) {
  const child = spawn('perl', ['-e', LISTEN, address], { stdio: ['ignore', 'pipe', 'inherit'] });
  test.after(() => child.kill('SIGKILL'));
  const heard = [];
  let rest = '';
  child.stdout.on('data', (bytes) => {
    const lines = (rest + bytes).split('\n');
    rest = lines.pop();
    heard.push(...lines);
  });
  await once(child.stdout, 'data');
  heard.shift();
  return { address, heard };
}
