/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/names.h"

#include <search.h>
#include <stdlib.h>
#include <string.h>

#include "table/grow.h"
#include "table/table.h"

/* A knot of the tree; its text lies behind it in the same block of memory. */
struct name {
    const char *text;
    size_t index;
};

struct pd_names {
    void *tree;         /* of struct name, by text: <search.h> */
    const char **texts; /* by number, lent from the tree */
    size_t count;
};

static int compare(const void *a, const void *b)
{
    return strcmp(((const struct name *)a)->text, ((const struct name *)b)->text);
}

enum pd_status pd_names_new(struct pd_names **out)
{
    *out = calloc(1, sizeof **out);
    return *out != NULL ? PD_OK : PD_ERR_MEMORY;
}

void pd_names_free(struct pd_names **names)
{
    if (names == NULL || *names == NULL)
        return;
    tdestroy((*names)->tree, free);
    free((*names)->texts);
    free(*names);
    *names = NULL;
}

static bool make_room(struct pd_names *names)
{
    const char **texts = pd_grow(names->texts, names->count, sizeof *texts);
    if (texts == NULL)
        return false;
    names->texts = texts;
    return true;
}

static enum pd_status append(struct pd_names *names, const char *text)
{
    const size_t size = strlen(text) + 1;
    struct name *name = make_room(names) ? malloc(sizeof *name + size) : NULL;
    if (name == NULL)
        return PD_ERR_MEMORY;
    *name = (struct name){.text = memcpy(name + 1, text, size), .index = names->count};
    if (tsearch(name, &names->tree, compare) == NULL) {
        free(name);
        return PD_ERR_MEMORY;
    }
    names->texts[names->count++] = name->text;
    return PD_OK;
}

enum pd_status pd_names_add(struct pd_names *names, const char *text, size_t *index, int *added)
{
    const size_t found = pd_names_find(names, text);
    const bool is_new = found == PD_NONE;
    const size_t number = is_new ? names->count : found;
    if (is_new && append(names, text) != PD_OK)
        return PD_ERR_MEMORY;
    *index = number;
    if (added != NULL)
        *added = is_new;
    return PD_OK;
}

size_t pd_names_find(const struct pd_names *names, const char *text)
{
    const struct name key = {.text = text};
    /* <search.h> hands back where its knot keeps our pointer. */
    struct name *const *found = tfind(&key, &names->tree, compare);
    return found != NULL ? (*found)->index : PD_NONE;
}

const char *pd_names_text(const struct pd_names *names, size_t index)
{
    return names->texts[index];
}

size_t pd_names_count(const struct pd_names *names)
{
    return names->count;
}

const char *pd_names_nearest(const struct pd_names *names, const char *text)
{
    const size_t nearest = pd_nearest(text, names->texts, names->count);
    return nearest < names->count ? names->texts[nearest] : NULL;
}
