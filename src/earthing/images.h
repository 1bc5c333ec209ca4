/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_EARTHING_IMAGES_H
#define PENDRIFT_EARTHING_IMAGES_H

#include <stdbool.h>
#include <stddef.h>

#include "earthing/soil.h"

/* The potential of a point current in the ground as a sum over images of its source.
 *
 * The surface and, in two layers, the boundary at depth h reflect: with K = (rho2 - rho1)/(rho2 +
 * rho1) the images lie 2h apart and fade as K^n (method of images; the four-pin formula of IEEE Std
 * 81 is its value at the surface). Near K = 1 or -1 that is slow, so the first `count` are summed
 * one by one and the rest all at once: 1/sqrt(r^2 + (2nh + Z)^2) = sum over k of (-1)^k s^k
 * P_k(Z/s) / (2nh)^(k+1), s^2 = r^2 + Z^2 (the generating function of Legendre's polynomials), with
 * the sums of K^n/n^(k+1) over n known. What the first PD_TAIL_ORDERS orders leave is bounded. */

enum { PD_TAIL_ORDERS = 8, PD_IMAGE_STRINGS = 4, PD_IMAGES_MOST = 20000 };

struct pd_images {
    struct pd_soil soil;
    double reflection; /* K */
    double reach_m;    /* the farthest that source (or its mirror in the surface) and field are */
    size_t count;      /* n = 0 .. count one by one */
    double tail[PD_TAIL_ORDERS]; /* sum over n > count of K^n / (2nh)^(k+1) */
    double bound;                /* of what is left out, over the potential at reach_m; 0 uniform */
};

/* Prepares the sum for sources and fields within reach_m > 0. PD_OK; PD_DOUBTFUL where
 * PD_IMAGES_MOST are too few for a bound of 1e-8 (then `bound` says how large it is);
 * PD_ERR_ARGUMENT for figures that are not good. */
enum pd_status pd_images_prepare(const struct pd_soil *soil, double reach_m,
                                 struct pd_images *images);

/* A string of images of a source at depth z, as a field in a certain layer sees them: at depths
 * sign z + shift + direction 2nh, each weight K^n times the current, n from `first`. direction 0:
 * one image only. The weight is in ohm-metre, divided by 4 pi already. */
struct pd_image_string {
    double sign, shift_m, direction, weight;
    size_t first;
};

/* Fills string[PD_IMAGE_STRINGS], returns how many there are. Layers: 0 upper, 1 lower. */
size_t pd_images_strings(const struct pd_images *images, int source, int field,
                         struct pd_image_string *string);

/* The sum over n > count of K^n / sqrt(r^2 + (2nh + Z)^2), for r^2 and Z. */
double pd_images_tail(const struct pd_images *images, double r_squared, double z_m);

#endif
