/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "xml.h"

#include "check.h"

#include <stdio.h>
#include <stdlib.h>

bool xml_there(void)
{
    if (system("command -v xmllint >/dev/null") == 0)
        return true;
    if (getenv("PENDRIFT_NEED_XMLLINT") != NULL)
        fail_msg("xmllint is not there: apt-get install libxml2-utils");
    print_message("skipped: xmllint is not there (apt-get install libxml2-utils)\n");
    return false;
}

bool xml_well_formed(const char *text, size_t length)
{
    FILE *const lint = popen("xmllint --noout --nonet -", "w");
    assert_non_null(lint);
    const size_t written = fwrite(text, 1, length, lint);
    const int status = pclose(lint);
    return written == length && status == 0;
}
