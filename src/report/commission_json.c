/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/cells.h"
#include "report/commission.h"
#include "report/making.h"
#include "report/report.h"

static json_t *step_object(const struct pd_test_sheet *sheet, size_t i)
{
    const struct pd_step *const step = &sheet->step[i];
    const struct pd_detector *const d = &sheet->study_case->detectors.detector[step->detector];
    const bool acts = step->expected == PD_ACTS;
    struct pd_making lines = pd_json_make_array(), object = pd_json_make_object();
    for (int line = PD_L1; line < PD_LINES; line++)
        pd_json_append(&lines, pd_json_number(step->line_v[line]));
    pd_json_put(&object, "step", pd_json_count(i + 1));
    pd_json_put(&object, "detector", pd_json_text(d->name));
    pd_json_put(&object, "apply", pd_json_text(pd_step_phrase(sheet, step).text));
    pd_json_put(&object, "value", pd_json_number(step->value));
    pd_json_put(&object, "unit", pd_json_text(pd_sense_unit(d->senses)));
    pd_json_put(&object, "line_neutral_v", pd_json_made(&lines));
    pd_json_put(&object, "pe_v", pd_json_number(step->pe_v));
    pd_json_put(&object, "expected", pd_json_text(pd_expected_phrase(step->expected)));
    pd_json_put(&object, acts ? "within_s" : "wait_s", pd_json_number(step->within_s));
    pd_json_put(&object, "applied", json_null());
    pd_json_put(&object, "took_s", json_null());
    pd_json_put(&object, "passed", json_null());
    return pd_json_made(&object);
}

static json_t *device_object(const struct pd_test_sheet *sheet, size_t i)
{
    const struct pd_detector *const d = &sheet->study_case->detectors.detector[i];
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "detector", pd_json_text(d->name));
    pd_json_put(&object, "senses", pd_json_text(pd_sense_names[d->senses]));
    pd_json_put(&object, "disconnects", pd_json_text(pd_disconnects_phrase(d)));
    pd_json_put(&object, "afterwards", pd_json_text(pd_back_phrase(d).text));
    pd_json_put(&object, "left_live", pd_json_text(pd_left_live_phrase(sheet->study_case, i).text));
    return pd_json_made(&object);
}

enum pd_status pd_commission_json(FILE *out, const struct pd_test_sheet *sheet)
{
    struct pd_making devices = pd_json_make_array(), steps = pd_json_make_array();
    struct pd_making object = pd_json_make_object();
    for (size_t i = 0; i < sheet->study_case->detectors.count; i++)
        pd_json_append(&devices, device_object(sheet, i));
    for (size_t i = 0; i < sheet->count; i++)
        pd_json_append(&steps, step_object(sheet, i));
    pd_json_put_head(&object, sheet->study_case->title);
    pd_json_put(&object, "rules", pd_json_texts(pd_commission_rules, PD_COMMISSION_RULES));
    pd_json_put(&object, "complete", json_boolean(sheet->complete));
    pd_json_put(&object, "devices", pd_json_made(&devices));
    pd_json_put(&object, "steps", pd_json_made(&steps));
    pd_json_put(&object, "not_tested", pd_json_notes(&sheet->untested));
    pd_json_put(&object, "not_proved", pd_json_notes(&sheet->unproved));
    return pd_json_write(out, pd_json_made(&object));
}

static void write_row(FILE *out, const struct pd_test_sheet *sheet, size_t i)
{
    const struct pd_step *const step = &sheet->step[i];
    const struct pd_detector *const d = &sheet->study_case->detectors.detector[step->detector];
    fprintf(out, "%zu", i + 1);
    pd_csv_text(out, d->name);
    pd_csv_text(out, pd_step_phrase(sheet, step).text);
    pd_csv_number(out, step->value);
    fprintf(out, ",%s", pd_sense_unit(d->senses));
    for (int line = PD_L1; line < PD_LINES; line++)
        pd_csv_number(out, step->line_v[line]);
    fprintf(out, ",%s", pd_expected_phrase(step->expected));
    pd_csv_number(out, step->within_s);
    fputs(",,,\n", out); /* the tester's */
}

enum pd_status pd_commission_csv(FILE *out, const struct pd_test_sheet *sheet)
{
    const struct pd_case *const c = sheet->study_case;
    pd_csv_head(out, c->title);
    for (size_t i = 0; i < PD_COMMISSION_RULES; i++)
        pd_csv_comment(out, "rule", pd_commission_rules[i]);
    for (size_t i = 0; i < c->detectors.count; i++) {
        pd_csv_comment(out, "afterwards", pd_back_phrase(&c->detectors.detector[i]).text);
        pd_csv_comment(out, "left live", pd_left_live_phrase(c, i).text);
    }
    for (size_t i = 0; i < sheet->untested.count; i++)
        pd_csv_comment(out, "not tested", sheet->untested.text[i]);
    for (size_t i = 0; i < sheet->unproved.count; i++)
        pd_csv_comment(out, "not proved", sheet->unproved.text[i]);
    fputs("step,detector,apply,value,unit,line1_neutral_v,line2_neutral_v,line3_neutral_v,expected,"
          "time_s,applied,took_s,passed\n",
          out);
    for (size_t i = 0; i < sheet->count; i++)
        write_row(out, sheet, i);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
