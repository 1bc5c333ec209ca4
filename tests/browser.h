/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TESTS_BROWSER_H
#define PENDRIFT_TESTS_BROWSER_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

#include <jansson.h>

/* Pages, looked at by somebody else's browser: Chromium without a window, spoken to through its
 * pipe (the DevTools protocol: messages of JSON, a NUL behind each). Keys and mouse are as a user's
 * are. Every function fails the test where the browser does not answer. */

struct browser {
    pid_t pid;
    int to, from;
    char *read; /* [used] what has come and is not taken yet */
    size_t used;
    int calls;
    char session[64];
    bool loaded;
    size_t complaints; /* errors on the console, exceptions, anything fetched from elsewhere */
    char folder[32];
};

/* Whether Chromium is there. Fails the test where it is not but PENDRIFT_NEED_CHROMIUM is set. */
bool browser_there(void);

void browser_open(struct browser *browser, const char *path);
void browser_close(struct browser *browser);

/* The result of a command; the caller frees it. `parameters` is taken, NULL: none. */
json_t *browser_call(struct browser *browser, const char *method, json_t *parameters);

/* What a script's expression comes to, as text; the caller frees. */
char *browser_evaluate(struct browser *browser, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* A key pressed and let go, by its name and the number of its key: what has the focus gets it. */
void browser_key(struct browser *browser, const char *key, int code);

/* The left button, at a place of the window. */
void browser_click(struct browser *browser, double x, double y);

#endif
