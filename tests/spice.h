/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TESTS_SPICE_H
#define PENDRIFT_TESTS_SPICE_H

#include <stdbool.h>
#include <stdio.h>

#include "check.h"
#include "network/phasor.h"

/* ngspice in batch mode, AC analysis at 50 Hz: a netlist in a folder of its own, run, read back.
 *
 * Nothing of ngspice may help the circuit along: gmin is a conductance of its devices, which these
 * circuits do not have, and is set to 1e-15 all the same; rshunt, which would tie every node to
 * earth, is off unless set; noopac leaves out the d.c. operating point, in which an inductor across
 * a source is a short circuit. */
struct spice {
    char path[64], netlist[96], raw[96], log[96];
};

/* The voltage of a node of the netlist, and its name as ngspice has it: "v(name)". */
struct spice_voltage {
    char name[32];
    double complex v;
};

/* Makes the folder. Where ngspice does not run the test is skipped; it fails where the environment
 * has PENDRIFT_NEED_NGSPICE. */
void spice_open(struct spice *spice);
void spice_close(const struct spice *spice);

/* Starts and ends a netlist. */
FILE *spice_begin(const struct spice *spice);
void spice_end(FILE *file);

/* R and L in series, of which either may be 0, by way of the node `name`m. Both 0: a source of 0 V.
 */
void spice_series(FILE *file, const char *name, const char *from, const char *to,
                  double complex z_ohm);

/* R and, in parallel, L or C. Nothing where it is 0. */
void spice_admittance(FILE *file, const char *name, const char *from, const char *to,
                      double complex y_s);

/* Runs the netlist. How many voltages there are in *voltage, which the caller frees; where ngspice
 * fails, its words are shown and the test fails. */
size_t spice_run(const struct spice *spice, struct spice_voltage **voltage);

#endif
