/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_NETWORK_PHASOR_H
#define PENDRIFT_NETWORK_PHASOR_H

#include <complex.h>

/* Phasors are C's complex numbers: rms, L1's EMF at angle 0. clang 14 takes C17 without CMPLX. */
#ifndef CMPLX
#define CMPLX(real, imaginary) __builtin_complex((double)(real), (double)(imaginary))
#endif

#endif
