/* SPDX-License-Identifier: GPL-3.0-or-later */

/* embed SYMBOL INPUT OUTPUT: writes a C file that defines `const char SYMBOL[]`, the bytes of INPUT
 * with a NUL behind them, and `const size_t SYMBOL_length`, without that NUL. A tool of the build,
 * never installed. */

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

static bool is_identifier(const char *text)
{
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ_0123456789";
    return text[0] != '\0' && strchr("0123456789", text[0]) == NULL &&
           text[strspn(text, allowed)] == '\0';
}

/* Each byte as a character constant: right for signed and for unsigned char, of any length. */
static bool write_bytes(FILE *input, FILE *output, size_t *length)
{
    unsigned char chunk[4096];
    size_t count;
    while ((count = fread(chunk, 1, sizeof chunk, input)) > 0) {
        for (size_t i = 0; i < count; i++)
            if (fprintf(output, "'\\%03o',%s", (unsigned)chunk[i], i % 12 == 11 ? "\n" : "") < 0)
                return false;
        *length += count;
    }
    return !ferror(input);
}

static bool write_source(const char *symbol, FILE *input, FILE *output)
{
    size_t length = 0;
    return fprintf(output,
                   "/* Made by embed at build time. */\n#include <stddef.h>\n\n"
                   "extern const char %s[];\nextern const size_t %s_length;\n\n"
                   "const char %s[] = {\n",
                   symbol, symbol, symbol) >= 0 &&
           write_bytes(input, output, &length) &&
           fprintf(output, "'\\0'};\n\nconst size_t %s_length = %zu;\n", symbol, length) >= 0;
}

static bool complain(const char *name)
{
    fprintf(stderr, "embed: %s: %s\n", name, strerror(errno));
    return false;
}

static bool write_file(const char *symbol, FILE *input, const char *input_name,
                       const char *output_name)
{
    FILE *output = fopen(output_name, "w");
    if (output == NULL)
        return complain(output_name);
    bool good = write_source(symbol, input, output);
    if (!good)
        complain(ferror(input) ? input_name : output_name);
    if (fclose(output) != 0 && good)
        good = complain(output_name);
    return good; /* half a file left behind does not compile: it lacks the closing brace */
}

int main(int argument_count, char **arguments)
{
    if (argument_count != 4 || !is_identifier(arguments[1])) {
        fputs("usage: embed SYMBOL INPUT OUTPUT, SYMBOL a C identifier\n", stderr);
        return 2;
    }
    FILE *input = fopen(arguments[2], "rb");
    if (input == NULL) {
        complain(arguments[2]);
        return 1;
    }
    const bool good = write_file(arguments[1], input, arguments[2], arguments[3]);
    fclose(input); /* was only read: nothing can be lost */
    return good ? 0 : 1;
}
