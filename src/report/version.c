/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/report.h"

const char *const pd_version = PENDRIFT_VERSION; /* given by the build */
