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
#include "earthing/conductors.h"
#include "earthing/electrode.h"
#include "earthing/ground.h"
#include "earthing/mutual.h"
#include "earthing/season.h"
#include "earthing/shape.h"
#include "earthing/shock.h"
#include "earthing/soil.h"
#include "earthing/survey.h"
#include "limits/limits.h"
#include "network/cable.h"
#include "network/load.h"
#include "network/network.h"
#include "network/read.h"
#include "network/transformer.h"
#include "solve/batch.h"
#include "solve/millman.h"
#include "solve/tree.h"
#include "study/aftermath.h"
#include "study/along.h"
#include "study/assess.h"
#include "study/blind.h"
#include "study/case.h"
#include "study/commission.h"
#include "study/distribution.h"
#include "study/electrode.h"
#include "study/excursions.h"
#include "study/explain.h"
#include "study/inputs.h"
#include "study/lesson.h"
#include "study/load_states.h"
#include "study/manage.h"
#include "study/nuisance.h"
#include "study/person.h"
#include "study/pictured.h"
#include "study/profile.h"
#include "study/replay.h"
#include "study/sample.h"
#include "study/selftest.h"
#include "study/sweep.h"
#include "study/voltage_log.h"
#include "study/working.h"
#include "table/facts.h"
#include "table/moment.h"
#include "table/names.h"
#include "table/notes.h"
#include "table/override.h"
#include "table/status.h"
#include "table/table.h"

#endif
