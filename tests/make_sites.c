/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>

#include "sites.h"

/* make_sites [ROWS [SEED]]: the sheet on standard output; without ROWS that of the demo. */
int main(int argc, char **argv)
{
    const size_t rows = argc > 1 ? strtoul(argv[1], NULL, 10) : SITES_DEMO_ROWS;
    const uint64_t seed = argc > 2 ? strtoul(argv[2], NULL, 10) : SITES_DEMO_SEED;
    sites_write(stdout, NULL, seed, rows);
    return ferror(stdout) || fclose(stdout) != 0;
}
