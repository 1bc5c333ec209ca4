/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "browser.h"

#include "check.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { PATIENCE_MS = 60000, COMMAND = 3, ANSWER = 4 };

bool browser_there(void)
{
    if (system("command -v chromium >/dev/null") == 0)
        return true;
    if (getenv("PENDRIFT_NEED_CHROMIUM") != NULL)
        fail_msg("chromium is not there: apt-get install chromium");
    print_message("skipped: chromium is not there (apt-get install chromium)\n");
    return false;
}

/* In the child: the pipe where the browser looks for it, everything it says thrown away. */
static void become_browser(const struct browser *b, int commands, int answers)
{
    char profile[64];
    const int nowhere = open("/dev/null", O_RDWR);
    const int from = fcntl(commands, F_DUPFD, 16), to = fcntl(answers, F_DUPFD, 16);
    snprintf(profile, sizeof profile, "--user-data-dir=%s", b->folder);
    dup2(from, COMMAND);
    dup2(to, ANSWER);
    dup2(nowhere, STDOUT_FILENO);
    dup2(nowhere, STDERR_FILENO);
    unsetenv("LD_PRELOAD");
    setsid();
    execlp("chromium", "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
           "--disable-dev-shm-usage", "--disable-background-networking", "--window-size=1280,1024",
           "--remote-debugging-pipe", profile, "about:blank", (char *)NULL);
    _exit(127);
}

static void start(struct browser *b)
{
    int commands[2], answers[2];
    assert_int_equal(pipe2(commands, O_CLOEXEC), 0);
    assert_int_equal(pipe2(answers, O_CLOEXEC), 0);
    snprintf(b->folder, sizeof b->folder, "/tmp/pendrift-XXXXXX");
    assert_non_null(mkdtemp(b->folder));
    b->pid = fork();
    assert_true(b->pid >= 0);
    if (b->pid == 0)
        become_browser(b, commands[0], answers[1]);
    close(commands[0]);
    close(answers[1]);
    b->to = commands[1];
    b->from = answers[0];
}

static void give_up(struct browser *b, const char *why)
{
    kill(-b->pid, SIGKILL);
    fail_msg("the browser %s", why);
}

/* The next message; the caller frees it. */
static json_t *next_message(struct browser *b)
{
    for (;;) {
        const char *const end = b->used > 0 ? memchr(b->read, '\0', b->used) : NULL;
        if (end != NULL) {
            const size_t length = (size_t)(end - b->read);
            json_t *const message = json_loadb(b->read, length, 0, NULL);
            b->used -= length + 1;
            memmove(b->read, end + 1, b->used);
            assert_non_null(message);
            return message;
        }
        enum { CHUNK = 65536 };
        struct pollfd ready = {.fd = b->from, .events = POLLIN};
        if (poll(&ready, 1, PATIENCE_MS) <= 0)
            give_up(b, "does not answer");
        b->read = realloc(b->read, b->used + CHUNK);
        assert_non_null(b->read);
        const ssize_t count = read(b->from, b->read + b->used, CHUNK);
        if (count <= 0)
            give_up(b, "has ended");
        b->used += (size_t)count;
    }
}

static void complain(struct browser *b, json_t *message)
{
    char *const text = json_dumps(message, JSON_COMPACT);
    print_error("browser: %.600s\n", text);
    free(text);
    b->complaints++;
}

/* Errors and warnings of any kind, and requests that are not for files or data. */
static void note_event(struct browser *b, json_t *message)
{
    const char *const method = json_string_value(json_object_get(message, "method"));
    json_t *const p = json_object_get(message, "params");
    if (method == NULL)
        return;
    if (strcmp(method, "Page.loadEventFired") == 0)
        b->loaded = true;
    if (strcmp(method, "Runtime.exceptionThrown") == 0 ||
        strcmp(method, "Runtime.consoleAPICalled") == 0 || strcmp(method, "Log.entryAdded") == 0)
        complain(b, message);
    if (strcmp(method, "Network.requestWillBeSent") == 0) {
        const char *const url =
            json_string_value(json_object_get(json_object_get(p, "request"), "url"));
        if (url == NULL || (strncmp(url, "file:", 5) != 0 && strncmp(url, "data:", 5) != 0))
            complain(b, message);
    }
}

json_t *browser_call(struct browser *b, const char *method, json_t *parameters)
{
    const int id = ++b->calls;
    json_t *const command = json_pack("{s:i,s:s,s:o}", "id", id, "method", method, "params",
                                      parameters != NULL ? parameters : json_object());
    assert_non_null(command);
    if (b->session[0] != '\0')
        json_object_set_new(command, "sessionId", json_string(b->session));
    char *const text = json_dumps(command, JSON_COMPACT);
    const size_t length = strlen(text) + 1;
    assert_int_equal(write(b->to, text, length), (ssize_t)length);
    free(text);
    json_decref(command);
    for (;;) {
        json_t *const message = next_message(b);
        json_t *const result = json_object_get(message, "result");
        if (json_integer_value(json_object_get(message, "id")) == id) {
            if (result == NULL) {
                complain(b, message);
                give_up(b, method);
            }
            json_incref(result);
            json_decref(message);
            return result;
        }
        note_event(b, message);
        json_decref(message);
    }
}

static void command(struct browser *b, const char *method, json_t *parameters)
{
    json_decref(browser_call(b, method, parameters));
}

/* A page of its own, and its session. */
static void attach(struct browser *b)
{
    json_t *const made =
        browser_call(b, "Target.createTarget", json_pack("{s:s}", "url", "about:blank"));
    json_t *const attached =
        browser_call(b, "Target.attachToTarget",
                     json_pack("{s:s,s:b}", "targetId",
                               json_string_value(json_object_get(made, "targetId")), "flatten", 1));
    snprintf(b->session, sizeof b->session, "%s",
             json_string_value(json_object_get(attached, "sessionId")));
    json_decref(made);
    json_decref(attached);
}

void browser_open(struct browser *b, const char *path)
{
    char url[256];
    *b = (struct browser){.pid = -1};
    signal(SIGPIPE, SIG_IGN);
    start(b);
    attach(b);
    command(b, "Runtime.enable", NULL);
    command(b, "Log.enable", NULL);
    command(b, "Network.enable", NULL);
    command(b, "Page.enable", NULL);
    command(b, "Emulation.setFocusEmulationEnabled", json_pack("{s:b}", "enabled", 1));
    snprintf(url, sizeof url, "file://%s", path);
    command(b, "Page.navigate", json_pack("{s:s}", "url", url));
    while (!b->loaded) {
        json_t *const message = next_message(b);
        note_event(b, message);
        json_decref(message);
    }
}

void browser_close(struct browser *b)
{
    char remove[64];
    b->session[0] = '\0';
    command(b, "Browser.close", NULL);
    close(b->to);
    waitpid(b->pid, NULL, 0);
    close(b->from);
    free(b->read);
    snprintf(remove, sizeof remove, "rm -rf %s", b->folder);
    assert_int_equal(system(remove), 0);
}

char *browser_evaluate(struct browser *b, const char *format, ...)
{
    char script[2048];
    va_list arguments;
    va_start(arguments, format);
    const int length = vsnprintf(script, sizeof script, format, arguments);
    va_end(arguments);
    assert_true(length > 0 && (size_t)length < sizeof script);
    json_t *const result = browser_call(
        b, "Runtime.evaluate", json_pack("{s:s,s:b}", "expression", script, "returnByValue", 1));
    const char *const value =
        json_string_value(json_object_get(json_object_get(result, "result"), "value"));
    if (value == NULL) {
        complain(b, result);
        fail_msg("no text comes of: %s", script);
    }
    char *const copy = strdup(value);
    assert_non_null(copy);
    json_decref(result);
    return copy;
}

void browser_key(struct browser *b, const char *key, int code)
{
    for (int up = 0; up < 2; up++)
        command(b, "Input.dispatchKeyEvent",
                json_pack("{s:s,s:s,s:s,s:i}", "type", up ? "keyUp" : "rawKeyDown", "key", key,
                          "code", key, "windowsVirtualKeyCode", code));
}

void browser_click(struct browser *b, double x, double y)
{
    for (int up = 0; up < 2; up++)
        command(b, "Input.dispatchMouseEvent",
                json_pack("{s:s,s:f,s:f,s:s,s:i}", "type", up ? "mouseReleased" : "mousePressed",
                          "x", x, "y", y, "button", "left", "clickCount", 1));
}
