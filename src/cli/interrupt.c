/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/interrupt.h"

#include <signal.h>
#include <stdatomic.h>
#include <stddef.h>
#include <unistd.h>

static volatile sig_atomic_t requested;
static _Atomic(const char *) to_remove;

static void on_signal(int number)
{
    (void)number;
    if (!requested) {
        requested = 1;
        return;
    }
    const char *const path = atomic_load(&to_remove);
    if (path != NULL)
        unlink(path);
    _exit(EXIT_INTERRUPTED);
}

void interrupt_install(void)
{
    static const int numbers[] = {SIGINT, SIGTERM, SIGHUP};
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        struct sigaction action = {.sa_handler = on_signal, .sa_flags = SA_RESTART};
        struct sigaction before;
        sigemptyset(&action.sa_mask);
        /* One that is ignored stays ignored: nohup, a job in the background. */
        if (sigaction(numbers[i], NULL, &before) == 0 && before.sa_handler != SIG_IGN)
            sigaction(numbers[i], &action, NULL);
    }
}

bool interrupt_requested(void)
{
    return requested != 0;
}

void interrupt_removes(const char *path)
{
    atomic_store(&to_remove, path);
}
