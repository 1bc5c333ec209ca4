/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/options.h"

#include <getopt.h>
#include <string.h>

#include "table/table.h"
#include "table/words.h"

/* What getopt_long returns for option i: no byte, so that it is not taken for a letter. */
enum { FIRST_VALUE = 256 };

struct getopt_tables {
    struct option option[OPTIONS_MAX];
    char letters[2 * OPTIONS_MAX + 2];
};

/* The letters begin with ':': getopt prints nothing, and tells an argument left out from an option
 * it does not know. */
static void make_tables(struct getopt_tables *tables)
{
    size_t used = 0;
    memset(tables, 0, sizeof *tables);
    tables->letters[used++] = ':';
    for (size_t i = 0; i < option_count; i++) {
        const struct option_row *const row = &option_table[i];
        tables->option[i] = (struct option){
            .name = row->name,
            .has_arg = row->argument != NULL ? required_argument : no_argument,
            .val = FIRST_VALUE + (int)i,
        };
        if (row->letter == 0)
            continue;
        tables->letters[used++] = row->letter;
        if (row->argument != NULL)
            tables->letters[used++] = ':';
    }
}

/* The option that getopt means by a value or a letter, option_count where there is none. */
static size_t option_of(int value)
{
    for (size_t i = 0; i < option_count; i++)
        if (value == FIRST_VALUE + (int)i || (value != 0 && value == option_table[i].letter))
            return i;
    return option_count;
}

static bool complain_unknown(const char *text, FILE *messages)
{
    const char *names[OPTIONS_MAX];
    char bare[64];
    for (size_t i = 0; i < option_count; i++)
        names[i] = option_table[i].name;
    snprintf(bare, sizeof bare, "%.*s", (int)strcspn(text + strspn(text, "-"), "="),
             text + strspn(text, "-"));
    const size_t near = pd_nearest(bare, names, option_count);
    fprintf(messages, "pendrift: no option '%s'", pd_show(text).text);
    if (near < option_count)
        fprintf(messages, "; did you mean --%s?\n", names[near]);
    else
        fputs("; see pendrift --help\n", messages);
    return false;
}

static bool complain(int result, const char *text, FILE *messages)
{
    const size_t option = option_of(optopt);
    if (optopt != 0 && option == option_count) {
        const char letter[] = {'-', (char)optopt, '\0'};
        return complain_unknown(letter, messages);
    }
    if (option == option_count)
        return complain_unknown(text, messages);
    const struct option_row *const row = &option_table[option];
    if (result == ':')
        fprintf(messages, "pendrift: --%s: needs an argument: %s\n", row->name,
                row->choices != NULL ? row->meaning : row->argument);
    else
        fprintf(messages, "pendrift: '%s': --%s takes no argument\n", pd_show(text).text,
                row->name);
    return false;
}

/* A whole number of at most `most`, written in digits. */
static bool whole(const char *argument, size_t most, size_t *value)
{
    *value = 0;
    for (const char *digit = argument; *digit != '\0'; digit++) {
        if (*digit < '0' || *digit > '9')
            return false;
        *value = 10 * *value + (size_t)(*digit - '0');
        if (*value > most)
            return false;
    }
    return argument[0] != '\0';
}

static bool take(struct options *options, size_t option, const char *argument, FILE *messages)
{
    const struct option_row *const row = &option_table[option];
    size_t choice = 0;
    if (row->choices != NULL) {
        while (choice < row->choice_count && strcmp(argument, row->choices[choice]) != 0)
            choice++;
        if (choice == row->choice_count) {
            fprintf(messages, "pendrift: --%s: '%s' is not one of its words; expected: %s\n",
                    row->name, pd_show(argument).text, row->meaning);
            return false;
        }
    } else if (row->whole_most > 0 && !whole(argument, row->whole_most, &choice)) {
        fprintf(messages, "pendrift: --%s: '%s' is not a whole number of 0 to %zu; expected: %s\n",
                row->name, pd_show(argument).text, row->whole_most, row->meaning);
        return false;
    } else if (row->is_number) {
        double value;
        if (!pd_parse_number(argument, &value) || value < row->least || value > row->most) {
            fprintf(messages, "pendrift: --%s: '%s' is not a number from %g to %g; expected: %s\n",
                    row->name, pd_show(argument).text, row->least, row->most, row->meaning);
            return false;
        }
        options->number[row->number] = value;
        options->number_given[row->number] = true;
    } else if (row->argument != NULL && argument[0] == '\0') {
        fprintf(messages, "pendrift: --%s: is empty; expected: %s\n", row->name, row->argument);
        return false;
    }
    options->given |= 1ull << option;
    if (row->take != NULL)
        row->take(options, argument, choice);
    return true;
}

bool options_parse(int argument_count, char **arguments, struct options *options, FILE *messages)
{
    struct getopt_tables tables;
    make_tables(&tables);
    *options = (struct options){0};
    optind = 0; /* start afresh: a test parses many times */
    for (;;) {
        const int result =
            getopt_long(argument_count, arguments, tables.letters, tables.option, NULL);
        if (result == -1)
            break;
        if (result == '?' || result == ':')
            return complain(result, arguments[optind - 1], messages);
        if (!take(options, option_of(result), optarg, messages))
            return false;
    }
    options->operands = (const char *const *)arguments + optind;
    options->operand_count = (size_t)(argument_count - optind);
    return true;
}

bool options_fit(const struct options *options, const char *command, unsigned bit, FILE *messages)
{
    bool fit = true;
    for (size_t i = 0; i < option_count; i++)
        if ((options->given & 1ull << i) != 0 && (option_table[i].commands & bit) == 0) {
            fprintf(messages, "pendrift: --%s: is not an option of '%s'\n", option_table[i].name,
                    command);
            fit = false;
        }
    return fit;
}
