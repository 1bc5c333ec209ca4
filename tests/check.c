/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include <math.h>
#include <stdlib.h>

int close_enough(double got, double want, double relative, double absolute)
{
    return fabs(got - want) <= fmax(relative * fabs(want), absolute);
}

void assert_close_at(const char *what, double got, double want, double relative, double absolute,
                     const char *file, int line)
{
    if (close_enough(got, want, relative, absolute))
        return;
    print_error("%s is %.17g, want %.17g (relative %g, absolute %g)\n", what, got, want, relative,
                absolute);
    _fail(file, line);
}

uint64_t stream_next(struct stream *stream)
{
    uint64_t z = stream->state += 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

double stream_uniform(struct stream *stream, double low, double high)
{
    return low + (high - low) * ((double)(stream_next(stream) >> 11) * 0x1p-53);
}

size_t stream_below(struct stream *stream, size_t count)
{
    return (size_t)(stream_next(stream) % count);
}

size_t soak(void)
{
    const char *text = getenv("PENDRIFT_SOAK");
    const long times = text != NULL ? strtol(text, NULL, 10) : 1;
    return times > 1 ? (size_t)times : 1;
}
