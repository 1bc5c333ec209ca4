/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TESTS_FILES_H
#define PENDRIFT_TESTS_FILES_H

/* A case written by a test: whole tables as text, in a folder of its own. */

struct written {
    char path[64];
};

/* Makes the folder, empty. */
void written_make(struct written *written);

/* Writes a file into it, in place of one that is there. */
void written_put(const struct written *written, const char *file, const char *text);

/* Removes it with everything in it. */
void written_remove(const struct written *written);

#endif
