/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/section.h"

#include <stdio.h>
#include <string.h>

#include "table/words.h"

static size_t find_section(const struct pd_network *network, const char *name)
{
    for (size_t i = 1; i < network->node_count; i++)
        if (!network->node[i].separate && strcmp(network->node[i].section, name) == 0)
            return i;
    return PD_NONE;
}

bool choose_section(const struct pd_case *c, const char *name, size_t *section)
{
    *section = name != NULL && c->network != NULL ? find_section(c->network, name) : PD_NONE;
    if (name == NULL || c->network == NULL || *section != PD_NONE)
        return true;
    fprintf(stderr, "pendrift: --section: the case has no section '%s' with a PEN\n",
            pd_show(name).text);
    return false;
}
