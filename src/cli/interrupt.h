/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_CLI_INTERRUPT_H
#define PENDRIFT_CLI_INTERRUPT_H

#include <stdbool.h>

/* Ctrl-C (and a request to terminate): the first asks the work to stop, the second ends the program
 * at once. What a signal handler reads must be global; it is kept in one place here. */

enum { EXIT_INTERRUPTED = 130 };

void interrupt_install(void);
bool interrupt_requested(void);

/* The file to remove where the program ends at once, NULL for none. The text must stay until it is
 * replaced. */
void interrupt_removes(const char *path);

#endif
