/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/describe.h"

static const char head[] =
    "# Completes pendrift for bash. Made at build time from the program's own tables.\n"
    "\n"
    "_pendrift_words() { mapfile -t COMPREPLY < <(compgen -W \"$1\" -- \"$cur\"); }\n"
    "_pendrift_files() {\n"
    "    compopt -o filenames 2>/dev/null\n"
    "    mapfile -t COMPREPLY < <(compgen \"$1\" -- \"$cur\")\n"
    "}\n"
    "\n"
    "_pendrift()\n"
    "{\n"
    "    local cur=${COMP_WORDS[COMP_CWORD]} prev=${COMP_WORDS[COMP_CWORD - 1]}\n"
    "    local command='' operand=0 word i\n"
    "    COMPREPLY=()\n"
    "    # --option=value comes as three words\n"
    "    if [ \"$cur\" = = ]; then\n"
    "        cur=\n"
    "    elif [ \"$prev\" = = ]; then\n"
    "        prev=${COMP_WORDS[COMP_CWORD - 2]}\n"
    "    fi\n"
    "    for ((i = 1; i < COMP_CWORD; i++)); do\n"
    "        word=${COMP_WORDS[i]}\n"
    "        case $word in\n";

static const char after_arguments[] =
    ")\n"
    "                [ \"${COMP_WORDS[i + 1]}\" != = ] || ((i++))\n"
    "                ((i++)) ;;\n"
    "            -?*) ;;\n"
    "            *) if [ -z \"$command\" ]; then command=$word; else ((operand++)); fi ;;\n"
    "        esac\n"
    "    done\n"
    "    case \"$command $prev\" in\n";

static void write_completion(FILE *out, const struct completion *completion)
{
    switch (completion->kind) {
    case COMPLETE_FILE:
        fputs("_pendrift_files -f", out);
        break;
    case COMPLETE_FOLDER:
        fputs("_pendrift_files -d", out);
        break;
    case COMPLETE_WORDS:
        fprintf(out, "_pendrift_words '%s'", completion->words);
        break;
    case COMPLETE_NOTHING:
        fputs(":", out);
        break;
    }
}

/* The options whose argument is the next word. */
static void write_with_argument(FILE *out)
{
    const char *between = "            ";
    for (size_t i = 0; i < option_count; i++) {
        const struct option_row *const row = &option_table[i];
        if (row->argument == NULL)
            continue;
        fprintf(out, "%s--%s", between, row->name);
        between = " | ";
        if (row->letter != 0)
            fprintf(out, " | -%c", row->letter);
    }
}

static void write_arguments(FILE *out, const struct command *command)
{
    for (size_t i = 0; i < option_count; i++) {
        const struct option_row *const row = &option_table[i];
        if (row->argument == NULL || (row->commands & command->bit) == 0)
            continue;
        const struct completion completion = complete_option(command, row);
        fprintf(out, "        '%s --%s'", command->name, row->name);
        if (row->letter != 0)
            fprintf(out, " | '%s -%c'", command->name, row->letter);
        fputs(") ", out);
        write_completion(out, &completion);
        fputs("; return ;;\n", out);
    }
}

static void write_options(FILE *out, const struct command *command)
{
    fprintf(out, "            %s) _pendrift_words '", command->name);
    const char *between = "";
    for (size_t i = 0; i < option_count; i++)
        if ((option_table[i].commands & command->bit) != 0) {
            fprintf(out, "%s--%s", between, option_table[i].name);
            between = " ";
        }
    fputs("' ;;\n", out);
}

static void write_operands(FILE *out, const struct command *command)
{
    for (size_t i = 0; i < command->operands_most; i++) {
        char name[32];
        const struct completion completion = complete_operand(command, i, name);
        fprintf(out, "        '%s %zu') ", command->name, i);
        write_completion(out, &completion);
        fputs(" ;;\n", out);
    }
}

void describe_bash(FILE *out)
{
    fputs(head, out);
    write_with_argument(out);
    fputs(after_arguments, out);
    for (size_t i = 0; i < command_count; i++)
        write_arguments(out, &command_table[i]);
    fputs("    esac\n    if [[ $cur == -* ]]; then\n        case $command in\n", out);
    for (size_t i = 0; i < command_count; i++)
        write_options(out, &command_table[i]);
    fputs("            *) _pendrift_words '--help --version' ;;\n"
          "        esac\n        return\n    fi\n    case \"$command $operand\" in\n"
          "        ' 0') _pendrift_words '",
          out);
    for (size_t i = 0; i < command_count; i++)
        fprintf(out, "%s%s", i > 0 ? " " : "", command_table[i].name);
    fputs("' ;;\n", out);
    for (size_t i = 0; i < command_count; i++)
        write_operands(out, &command_table[i]);
    fputs("    esac\n}\ncomplete -F _pendrift pendrift\n", out);
}
