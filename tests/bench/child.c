/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "child.h"

#include <fcntl.h>
#include <spawn.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "stopwatch.h"

struct child child_run(char *const *arguments)
{
    extern char **environ;
    posix_spawn_file_actions_t actions;
    struct rusage used;
    pid_t pid;
    int status;
    must(posix_spawn_file_actions_init(&actions) == 0 &&
             posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0) ==
                 0 &&
             posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0) ==
                 0 &&
             posix_spawn_file_actions_adddup2(&actions, STDOUT_FILENO, STDERR_FILENO) == 0,
         "out of memory");
    const double start_s = now_s();
    must(posix_spawnp(&pid, arguments[0], &actions, NULL, arguments, environ) == 0,
         "a program could not be started");
    must(wait4(pid, &status, 0, &used) == pid, "a program could not be waited for");
    const double took_s = now_s() - start_s;
    posix_spawn_file_actions_destroy(&actions);
    must(WIFEXITED(status) && WEXITSTATUS(status) != 127, "a program did not run to its end");
    return (struct child){took_s, used.ru_maxrss, WEXITSTATUS(status)};
}
