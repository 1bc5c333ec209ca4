/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_H
#define PENDRIFT_H

/* The whole library. A program that wants one room may include that room's header alone.
 *
 *   #include <pendrift.h>      cc ... $(pkg-config --cflags --libs pendrift)
 *
 * The library never prints, exits or keeps global state. */

#include "detect/detector.h"
#include "detect/region.h"
#include "earthing/body.h"
#include "earthing/electrode.h"
#include "earthing/shock.h"
#include "limits/limits.h"
#include "network/cable.h"
#include "network/load.h"
#include "network/network.h"
#include "network/read.h"
#include "network/transformer.h"
#include "solve/batch.h"
#include "solve/millman.h"
#include "solve/tree.h"
#include "study/assess.h"
#include "study/blind.h"
#include "study/case.h"
#include "study/load_states.h"
#include "study/manage.h"
#include "study/person.h"
#include "study/selftest.h"
#include "table/facts.h"
#include "table/names.h"
#include "table/notes.h"
#include "table/status.h"
#include "table/table.h"

#endif
