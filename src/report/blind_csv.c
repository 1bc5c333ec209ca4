/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include <csv.h>

#include "report/blind.h"
#include "report/cautions.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/scenario.h"

static void comment(FILE *out, const char *label, const char *text)
{
    fprintf(out, "# %s: %s\n", label, pd_plain(text).text);
}

static void write_head(FILE *out, const struct pd_blind *blind)
{
    fprintf(out, "# pendrift %s\n", pd_version);
    comment(out, "case", pd_blind_title(blind));
    for (size_t i = 0; i < blind->count; i++)
        comment(out, "answer", pd_blind_headline(blind, &blind->device[i]).text);
    if (blind->count == 0)
        comment(out, "answer", "not determined: no detector is declared");
    for (size_t i = 0; blind->study_case != NULL && i < blind->study_case->missing.count; i++)
        comment(out, "missing", blind->study_case->missing.text[i]);
    comment(out, "note", pd_blind_hull_note);
    for (size_t i = 0; i < PD_CAUTIONS; i++)
        comment(out, "caution", pd_cautions[i]);
    comment(out, "limit set", blind->limits.set);
    comment(out, "limits", blind->limits.status);
    fputs("detector,kind,loop,piece,supply_v,real_v,imaginary_v,displacement_v,angle_deg,section,"
          "sees\n",
          out);
}

static void write_number(FILE *out, double value)
{
    if (isfinite(value))
        fprintf(out, ",%.10g", value + 0.0); /* + 0.0: no "-0" */
    else
        fputc(',', out);
}

/* The user's own texts are quoted whatever is in them. */
static void write_text(FILE *out, const char *text)
{
    const struct pd_plain plain = pd_plain(text);
    csv_fwrite(out, plain.text, strlen(plain.text));
}

/* The start of a row up to its numbers; a point of no piece has neither loop nor piece. */
static void write_point(FILE *out, const struct pd_blind_device *device, const char *kind,
                        const struct pd_piece *piece, double complex at)
{
    write_text(out, device->detector->name);
    fprintf(out, ",%s", kind);
    if (piece != NULL)
        fprintf(out, ",%zu,%zu", piece->loop, (size_t)(piece - device->view[PD_VIEW_DRAWN].piece));
    else
        fputs(",,", out);
    write_number(out, device->view[PD_VIEW_DRAWN].supply_v);
    write_number(out, creal(at));
    write_number(out, cimag(at));
    write_number(out, cabs(at));
    write_number(out, pd_blind_angle_deg(at));
}

/* No two points of an arc further apart than 2 degrees, of a segment than 5 V. */
static void write_piece(FILE *out, const struct pd_blind_device *device,
                        const struct pd_piece *piece)
{
    const double turn = piece->to_rad - piece->from_rad;
    const double parts =
        piece->arc ? ceil(fabs(turn) / (2 * M_PI / 180)) : ceil(cabs(piece->to - piece->from) / 5);
    const int count = parts >= 1 ? (int)parts : 1;
    for (int i = 0; i <= count; i++) {
        const double share = (double)i / count;
        const double complex at =
            piece->arc ? piece->centre + piece->radius * cexp(I * (piece->from_rad + share * turn))
                       : piece->from + share * (piece->to - piece->from);
        write_point(out, device, piece->arc ? "arc" : "segment", piece, at);
        fputs(",,\n", out);
    }
}

static void write_scenarios(FILE *out, const struct pd_blind_device *device)
{
    static const char *const words[] = {
        [PD_BLIND] = "no", [PD_SEES] = "yes", [PD_SIGHT_UNKNOWN] = "unknown"};
    const struct pd_assessment *const a = device->assessment;
    for (size_t i = 0; a != NULL && i < a->scenario_count; i++) {
        const struct pd_scenario *const s = &a->scenario[i];
        const char *const section = pd_scenario_section(a, s);
        if (!pd_blind_shows(device, s))
            continue;
        write_point(out, device, "scenario", NULL, s->met);
        fputc(',', out);
        if (section != NULL)
            write_text(out, section);
        fprintf(out, ",%s\n", words[s->sight[0].kind]);
    }
}

enum pd_status pd_blind_csv(FILE *out, const struct pd_blind *blind)
{
    write_head(out, blind);
    for (size_t i = 0; i < blind->count && !ferror(out); i++) {
        const struct pd_blind_device *const device = &blind->device[i];
        const struct pd_region *const region = &device->view[PD_VIEW_DRAWN];
        for (size_t k = 0; k < region->corner_count; k++) {
            write_point(out, device, "corner", NULL, region->corner[k]);
            fputs(",,\n", out);
        }
        for (size_t k = 0; k < region->piece_count; k++)
            write_piece(out, device, &region->piece[k]);
        if (region->kind == PD_REGION_KNOWN) {
            write_point(out, device, "worst", NULL, region->worst);
            fputs(",,no\n", out);
        }
        write_scenarios(out, device);
    }
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
