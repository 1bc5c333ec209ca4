/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "cli/describe.h"
#include "table/reference.h"

static void add(struct completion *completion, const char *word)
{
    const size_t used = strlen(completion->words), length = strlen(word);
    if (used + length + 2 > sizeof completion->words || strchr(word, ' ') != NULL)
        abort(); /* of the build: the tables have outgrown it */
    if (used > 0)
        completion->words[used] = ' ';
    memcpy(&completion->words[used + (used > 0)], word, length + 1);
    completion->kind = COMPLETE_WORDS;
}

/* The names in the first column of a reference table. */
static void add_rows(struct completion *completion, const char *table)
{
    struct pd_errors errors = {0};
    for (size_t i = 0; i < PD_REFERENCES; i++) {
        struct pd_listing listing;
        if (strcmp(pd_references[i].name, table) != 0)
            continue;
        if (pd_listing_read(&pd_references[i], &listing, &errors) != PD_OK)
            abort();
        for (size_t row = 0; row < listing.row_count; row++)
            add(completion, listing.cells[row * listing.column_count]);
        pd_listing_free(&listing);
    }
}

/* Words of the help that stand for something that can be completed. */
static struct completion complete_word(const char *word)
{
    static const struct {
        const char *word;
        enum completion_kind kind;
        const char *table; /* whose rows it names */
    } rows[] = {
        {"CASE", COMPLETE_FOLDER, NULL},   {"DIR", COMPLETE_FOLDER, NULL},
        {"FILE", COMPLETE_FILE, NULL},     {"PROFILE", COMPLETE_FILE, NULL},
        {"LOG.csv", COMPLETE_FILE, NULL},  {"SITES.csv", COMPLETE_FILE, NULL},
        {"SOIL", COMPLETE_WORDS, "soils"}, {"SEASON", COMPLETE_WORDS, "seasons"},
        {"SET", COMPLETE_WORDS, "limits"},
    };
    struct completion completion = {.kind = COMPLETE_NOTHING};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (strcmp(rows[i].word, word) == 0) {
            completion.kind = rows[i].kind;
            if (rows[i].table != NULL)
                add_rows(&completion, rows[i].table);
        }
    return completion;
}

/* Of the words that the parser takes, those that the help names: the others are of no use here. */
struct completion complete_option(const struct command *command, const struct option_row *row)
{
    struct completion completion = {.kind = COMPLETE_NOTHING};
    const bool formats = strcmp(row->name, "format") == 0;
    if (row->choices == NULL)
        return row->argument != NULL ? complete_word(row->argument) : completion;
    for (size_t i = 0; i < row->choice_count; i++)
        if (formats ? command->formats == 0 || (command->formats & 1u << i) != 0
                    : strstr(row->meaning, row->choices[i]) != NULL)
            add(&completion, row->choices[i]);
    return completion;
}

struct completion complete_operand(const struct command *command, size_t operand, char name[32])
{
    const char *word = command->operands;
    for (size_t i = 0; i < operand; i++)
        word += strcspn(word, " ") + (word[strcspn(word, " ")] == ' ');
    word += strspn(word, "[");
    snprintf(name, 32, "%.*s", (int)strcspn(word, " ]"), word);
    struct completion completion = complete_word(name);
    if (command->bit == FOR_HELP)
        for (size_t i = 0; i < command_count; i++)
            add(&completion, command_table[i].name);
    if (command->bit == FOR_TABLES)
        for (size_t i = 0; i < PD_REFERENCES; i++)
            add(&completion, pd_references[i].name);
    return completion;
}
