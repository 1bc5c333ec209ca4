/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <gsl/gsl_errno.h>

#include "cli/commands.h"
#include "cli/interrupt.h"
#include "cli/output.h"
#include "report/report.h"

static int show_version(const struct options *options)
{
    struct output output;
    if (!output_open(&output, options->output))
        return EXIT_USAGE;
    fprintf(output.file, "pendrift %s\nGPL-3.0-or-later, without any warranty\n", pd_version);
    return output_close(&output) ? EXIT_GOOD : EXIT_USAGE;
}

/* A format that the program knows but this command does not write. */
static bool writes_format(const struct command *command, const struct options *options)
{
    if (command->formats == 0 || (command->formats & 1u << options->format) != 0)
        return true;
    fprintf(stderr, "pendrift: --format: is not one that '%s' writes; see pendrift help %s\n",
            command->name, command->name);
    return false;
}

static int run_command(const struct command *command, const struct options *options)
{
    const size_t operands = options->operand_count - 1;
    if (!options_fit(options, command->name, command->bit, stderr))
        return EXIT_USAGE;
    if (options->help)
        return show_help(command, options);
    if (operands < command->operands_least || operands > command->operands_most) {
        fprintf(stderr, "pendrift: usage: pendrift %s [OPTION...]%s%s\n", command->name,
                command->operands[0] != '\0' ? " " : "", command->operands);
        return EXIT_USAGE;
    }
    if (!writes_format(command, options))
        return EXIT_USAGE;
    const int result = command->run(options);
    if (result == EXIT_USAGE)
        command_hint(command, options);
    return result;
}

static int run(int argument_count, char **arguments)
{
    struct options options;
    if (!options_parse(argument_count, arguments, &options, stderr))
        return EXIT_USAGE;
    if (options.version)
        return show_version(&options);
    if (options.operand_count == 0 && options.help)
        return show_help(NULL, &options);
    if (options.operand_count == 0) {
        show_usage(stderr);
        return EXIT_USAGE;
    }
    const struct command *const command = command_find(options.operands[0]);
    if (command == NULL) {
        command_complain(options.operands[0]);
        return EXIT_USAGE;
    }
    return run_command(command, &options);
}

int main(int argument_count, char **arguments)
{
    interrupt_install();
    gsl_set_error_handler_off(); /* it would abort */
    return run(argument_count, arguments);
}
