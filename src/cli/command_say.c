/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/commands.h"

#include <string.h>
#include <unistd.h>

#include "table/table.h"
#include "table/words.h"

const struct command *command_find(const char *name)
{
    for (size_t i = 0; i < command_count; i++)
        if (strcmp(command_table[i].name, name) == 0)
            return &command_table[i];
    return NULL;
}

size_t command_option(const struct command *command, const struct option_row *row, char *text,
                      size_t size)
{
    size_t used = 0, left = 0;
    if (command == NULL || command->formats == 0 || strcmp(row->name, "format") != 0)
        return (size_t)snprintf(text, size, "%s", row->meaning);
    for (size_t i = 0; i < row->choice_count; i++)
        left += (command->formats & 1u << i) != 0;
    for (size_t i = 0; i < row->choice_count && used < size; i++)
        if ((command->formats & 1u << i) != 0) {
            left--;
            used += (size_t)snprintf(text + used, size - used, "%s%s%s", row->choices[i],
                                     i == FORMAT_TEXT ? " (default)" : "",
                                     left > 1    ? ", "
                                     : left == 1 ? " or "
                                                 : "");
        }
    return used;
}

/* A folder in place of a command: the user wants it assessed. */
static bool is_case(const char *name)
{
    char path[4096];
    const int length = snprintf(path, sizeof path, "%s/case.csv", name);
    return length > 0 && (size_t)length < sizeof path && access(path, F_OK) == 0;
}

void command_complain(const char *name)
{
    const char *names[COMMANDS_MAX] = {NULL};
    for (size_t i = 0; i < command_count; i++)
        names[i] = command_table[i].name;
    const size_t near = pd_nearest(name, names, command_count);
    char all[300];
    pd_list_names(all, sizeof all, names, command_count);
    fprintf(stderr, "pendrift: no command '%s'", pd_show(name).text);
    if (is_case(name))
        fprintf(stderr, "; did you mean 'assess %s'?\n", pd_show(name).text);
    else if (near < command_count)
        fprintf(stderr, "; did you mean '%s'?\n", names[near]);
    else
        fprintf(stderr, "; there are: %s\n", all);
}

void command_hint(const struct command *command, const struct options *options)
{
    const char *const operands = command->operands + (command->operands[0] == '[');
    if (strncmp(operands, "CASE", 4) != 0 || options->operand_count < 2 ||
        is_case(options->operands[1]))
        return;
    fprintf(stderr,
            "pendrift: '%s' has no case.csv; to write a case to start from: pendrift new DIR\n",
            pd_show(options->operands[1]).text);
}
