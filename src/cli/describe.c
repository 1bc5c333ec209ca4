/* SPDX-License-Identifier: GPL-3.0-or-later */

/* describe man [COMMAND] | bash | zsh | fish: what is installed beside the program, made from its
 * tables. A tool of the build, never installed. */

#include "cli/describe.h"

#include <string.h>

static int describe(const char *what, const char *name)
{
    const struct command *const command = name != NULL ? command_find(name) : NULL;
    if (name != NULL && command == NULL)
        return EXIT_USAGE;
    if (strcmp(what, "man") == 0)
        describe_man(stdout, command);
    else if (strcmp(what, "bash") == 0)
        describe_bash(stdout);
    else if (strcmp(what, "zsh") == 0)
        describe_zsh(stdout);
    else if (strcmp(what, "fish") == 0)
        describe_fish(stdout);
    else
        return EXIT_USAGE;
    return fflush(stdout) == 0 && !ferror(stdout) ? EXIT_GOOD : EXIT_USAGE;
}

int main(int argument_count, char **arguments)
{
    const int result = argument_count < 2 || argument_count > 3
                           ? EXIT_USAGE
                           : describe(arguments[1], argument_count > 2 ? arguments[2] : NULL);
    if (result != EXIT_GOOD)
        fputs("usage: describe man [COMMAND] | bash | zsh | fish\n", stderr);
    return result;
}
