/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "table/table.h"

/* Only the letters of ASCII are folded: names of columns and choices have no others, and in a
 * user's own names a wrong case beyond them costs one letter changed. */
static char fold(char letter)
{
    return letter >= 'A' && letter <= 'Z' ? (char)(letter - 'A' + 'a') : letter;
}

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* One row of the table of distances between the beginnings of a and b: row i from the two before
 * it. Returns the least of the row: no later row comes below it, for a swap, which reaches back two
 * rows, costs as much as leaving out the first of its letters, which stands in this row. */
static size_t fill_row(size_t i, const char *a, const char *b, size_t b_length,
                       const size_t *before, const size_t *last, size_t *row)
{
    size_t lowest = row[0] = i;
    for (size_t j = 1; j <= b_length; j++) {
        const bool same = fold(a[i - 1]) == fold(b[j - 1]);
        row[j] = least(least(last[j], row[j - 1]) + 1, last[j - 1] + !same);
        if (i > 1 && j > 1 && fold(a[i - 1]) == fold(b[j - 2]) && fold(a[i - 2]) == fold(b[j - 1]))
            row[j] = least(row[j], before[j - 2] + 1);
        lowest = least(lowest, row[j]);
    }
    return lowest;
}

/* The optimal string alignment distance (Damerau 1964, Levenshtein 1966, restricted: no letter is
 * edited twice), or limit + 1 where it is more than limit. Lengths up to PD_NAME_MAX. */
static size_t distance(const char *a, size_t a_length, const char *b, size_t b_length, size_t limit)
{
    size_t rows[3][PD_NAME_MAX + 1];
    for (size_t j = 0; j <= b_length; j++)
        rows[0][j] = j;
    for (size_t i = 1; i <= a_length; i++)
        if (fill_row(i, a, b, b_length, rows[(i + 1) % 3], rows[(i + 2) % 3], rows[i % 3]) > limit)
            return limit + 1;
    return least(rows[a_length % 3][b_length], limit + 1);
}

size_t pd_nearest(const char *text, const char *const names[], size_t count)
{
    const size_t length = strnlen(text, PD_NAME_MAX + 1);
    size_t nearest = count;
    if (length == 0 || length > PD_NAME_MAX)
        return count;
    /* A suggestion must share something with the text: one changed letter of one is another name.
     */
    size_t limit = least(length < 6 ? 1 : length / 3, length - 1);
    for (size_t i = 0; i < count; i++) {
        const size_t name_length = strnlen(names[i], PD_NAME_MAX + 1);
        if (name_length > PD_NAME_MAX || name_length > length + limit ||
            length > name_length + limit)
            continue;
        const size_t found = distance(text, length, names[i], name_length, limit);
        if (found > limit)
            continue;
        nearest = i;
        if (found == 0)
            break;
        limit = found - 1;
    }
    return nearest;
}
