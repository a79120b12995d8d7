// Signals read like a file, in a process of their own.
#include "daemon/service/signals.hpp"

#include <sys/wait.h>
#include <unistd.h>

#include <csignal>

namespace nightferry::service {

namespace {

// Runs it in a child and tells the child's exit code, or minus the signal that ended it.
int in_a_child(const std::function<int()>& what) {
    const pid_t child = ::fork();
    if (child == 0) ::_exit(what());
    int status = 0;
    ::waitpid(child, &status, 0);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
}

TEST(SignalsTest, NoneOfThemEndsTheProcessAndEachIsSeen) {
    EXPECT_EQ(in_a_child([] {
                  Signals signals;
                  if (signals.look() || signals.is_told_to_end() || signals.take_reload()) return 1;
                  ::raise(SIGHUP);
                  ::raise(SIGHUP);
                  if (!signals.look() || signals.look()) return 2;
                  if (!signals.take_reload() || signals.take_reload() || signals.is_told_to_end()) return 3;
                  ::raise(SIGTERM);
                  return signals.look() && signals.is_told_to_end() ? 0 : 4;
              }),
              0);
    EXPECT_EQ(in_a_child([] {
                  Signals signals;
                  ::raise(SIGINT);
                  signals.look();
                  return signals.is_told_to_end() ? 0 : 1;
              }),
              0);
}

TEST(SignalsTest, OneThatCameBeforeTheLoopRanIsToldByTheLoop) {
    EXPECT_EQ(in_a_child([] {
                  Signals signals;
                  ::raise(SIGHUP);
                  boost::asio::io_context loop;
                  int calls = 0;
                  SignalWatch watch(loop, signals, [&] {
                      ++calls;
                      if (signals.take_reload()) ::raise(SIGTERM);
                      if (signals.is_told_to_end()) loop.stop();
                  });
                  loop.run_for(std::chrono::seconds{30});
                  return calls == 2 && signals.is_told_to_end() ? 0 : 1;
              }),
              0);
}

TEST(SignalsTest, OthersKeepTheirMeaning) {
    EXPECT_EQ(in_a_child([] {
                  Signals signals;
                  ::raise(SIGUSR1);
                  return 0;
              }),
              -SIGUSR1);
}

}  // namespace

}  // namespace nightferry::service
