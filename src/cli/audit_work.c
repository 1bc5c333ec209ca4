/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/audit_work.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

enum pass { PASS_READINGS, PASS_FINDINGS };

/* What the threads share. */
struct shared {
    struct audit_work *work;
    enum pass pass;
    pthread_mutex_t lock;
    pthread_cond_t turned;
    size_t turn; /* number of the block to be written next */
    enum pd_status status;
};

/* What each thread has of its own. */
struct hand {
    struct shared *shared;
    struct pd_sheet_block block;
    struct pd_sheet_reader *reader;
    struct pd_auditor *auditor;
    struct pd_put put;
    struct pd_tally tally;
    struct pd_errors *messages;
    pthread_t thread;
};

static void put_row(struct hand *hand, const struct pd_sheet_row *row, const struct pd_site *site,
                    const struct pd_audit_result *result)
{
    const struct audit_work *const work = hand->shared->work;
    if (work->only != 0 && (work->only & 1u << result->finding) == 0)
        return;
    if (work->format == FORMAT_CSV)
        pd_audit_csv_row(&hand->put, &work->words, row, pd_sheet_width(work->sheet), site, result);
    else if (work->format == FORMAT_JSON)
        pd_audit_json_row(&hand->put, &work->words, work->sheet, row, site, result);
}

static enum pd_status find(struct hand *hand, const struct pd_sheet_row *row)
{
    const struct audit_work *const work = hand->shared->work;
    struct pd_site site;
    struct pd_audit_result result;
    if (row->fault != PD_ROW_GOOD) {
        pd_site_none(&site);
        result = pd_audit_not_read();
        pd_errors_add(hand->messages, PD_ERR_INPUT, work->name, row->line, "", "%s; not audited",
                      pd_row_fault_texts[row->fault]);
    } else {
        pd_site_read(&work->map, row->cell, work->name, row->line, &site, hand->messages);
        const unsigned copied = pd_tally_copied(&work->tally, site.text[PD_S_CONTRACTOR]);
        const enum pd_status status = pd_audit_site(hand->auditor, &site, copied, &result);
        if (status != PD_OK)
            return status;
    }
    pd_tally_result(&hand->tally, &site, row->line, &result);
    put_row(hand, row, &site, &result);
    return hand->put.failed ? PD_ERR_MEMORY : PD_OK;
}

static enum pd_status go_through(struct hand *hand)
{
    const struct audit_work *const work = hand->shared->work;
    struct pd_sheet_row row;
    bool more;
    hand->put.length = 0;
    hand->messages->count = 0;
    pd_sheet_reader_start(hand->reader, &hand->block);
    for (;;) {
        enum pd_status status = pd_sheet_reader_next(hand->reader, &row, &more);
        if (status != PD_OK || !more)
            return status;
        if (hand->shared->pass == PASS_FINDINGS) {
            status = find(hand, &row);
        } else if (row.fault == PD_ROW_GOOD) {
            struct pd_site site;
            pd_site_read_readings(&work->map, row.cell, &site);
            pd_tally_readings(&hand->tally, &site);
        }
        if (status != PD_OK)
            return status;
    }
}

static enum pd_status take_block(struct hand *hand)
{
    struct shared *const s = hand->shared;
    struct audit_work *const work = s->work;
    const double half = s->pass == PASS_READINGS ? 0 : 0.5;
    pthread_mutex_lock(&s->lock);
    if (s->status == PD_OK)
        s->status = pd_sheet_next(work->sheet, &hand->block, work->messages);
    if (s->status == PD_OK &&
        !progress_step(half + pd_sheet_share(work->sheet) / 2, work->progress))
        s->status = PD_ERR_INTERRUPTED;
    const enum pd_status status = s->status;
    pthread_cond_broadcast(&s->turned);
    pthread_mutex_unlock(&s->lock);
    return status;
}

static void keep_messages(struct pd_errors *to, const struct pd_errors *from)
{
    for (size_t i = 0; i < from->count && i < PD_ERRORS_KEPT && to->count + i < PD_ERRORS_KEPT; i++)
        to->kept[to->count + i] = from->kept[i];
    to->count += from->count;
}

/* Waits for its turn and writes. */
static void hand_in(struct hand *hand, enum pd_status status)
{
    struct shared *const s = hand->shared;
    pthread_mutex_lock(&s->lock);
    while (s->status == PD_OK && s->turn != hand->block.number)
        pthread_cond_wait(&s->turned, &s->lock);
    if (s->status == PD_OK)
        s->status = status;
    if (s->status == PD_OK) {
        keep_messages(s->work->messages, hand->messages);
        if (hand->put.length > 0 &&
            fwrite(hand->put.text, 1, hand->put.length, s->work->out) != hand->put.length)
            s->status = PD_ERR_FILE;
        s->turn++;
    }
    pthread_cond_broadcast(&s->turned);
    pthread_mutex_unlock(&s->lock);
}

static void *labour(void *context)
{
    struct hand *const hand = context;
    while (take_block(hand) == PD_OK && hand->block.length > 0)
        hand_in(hand, go_through(hand));
    return NULL;
}

static void hand_free(struct hand *hand)
{
    pd_sheet_block_free(&hand->block);
    pd_sheet_reader_free(&hand->reader);
    pd_auditor_free(&hand->auditor);
    pd_put_free(&hand->put);
    pd_tally_free(&hand->tally);
    free(hand->messages);
}

static enum pd_status hand_new(struct shared *s, struct hand *hand)
{
    *hand = (struct hand){.shared = s, .messages = calloc(1, sizeof *hand->messages)};
    enum pd_status status = hand->messages != NULL ? PD_OK : PD_ERR_MEMORY;
    if (status == PD_OK)
        status = pd_sheet_reader_new(pd_sheet_width(s->work->sheet), &hand->reader);
    if (status == PD_OK)
        status = pd_auditor_new(s->work->audit, &hand->auditor);
    return status == PD_OK ? pd_tally_new(&hand->tally) : status;
}

/* A thread that cannot be started is work for the others; this one is always there. */
static void labour_all(struct hand *hand, size_t count)
{
    size_t started = 1;
    while (started < count &&
           pthread_create(&hand[started].thread, NULL, labour, &hand[started]) == 0)
        started++;
    labour(&hand[0]);
    for (size_t i = 1; i < started; i++)
        pthread_join(hand[i].thread, NULL);
}

static enum pd_status run_pass(struct audit_work *work, enum pass pass)
{
    struct shared s = {.work = work, .pass = pass, .status = PD_OK};
    struct hand *const hand = calloc(work->threads, sizeof *hand);
    size_t made = 0;
    if (hand == NULL)
        return PD_ERR_MEMORY;
    pthread_mutex_init(&s.lock, NULL);
    pthread_cond_init(&s.turned, NULL);
    while (made < work->threads && s.status == PD_OK)
        s.status = hand_new(&s, &hand[made++]);
    if (s.status == PD_OK)
        labour_all(hand, work->threads);
    for (size_t i = 0; i < made; i++) {
        if (s.status == PD_OK)
            pd_tally_add(&work->tally, &hand[i].tally);
        hand_free(&hand[i]);
    }
    pthread_cond_destroy(&s.turned);
    pthread_mutex_destroy(&s.lock);
    free(hand);
    return s.status;
}

static enum pd_status write_put(struct audit_work *work, struct pd_put *put)
{
    enum pd_status status = put->failed ? PD_ERR_MEMORY : PD_OK;
    if (status == PD_OK && put->length > 0 &&
        fwrite(put->text, 1, put->length, work->out) != put->length)
        status = PD_ERR_FILE;
    pd_put_free(put);
    return status;
}

static enum pd_status write_head(struct audit_work *work)
{
    struct pd_put put = {0};
    if (work->format == FORMAT_CSV)
        pd_audit_csv_head(&put, work->audit, work->sheet);
    else if (work->format == FORMAT_JSON)
        pd_audit_json_head(&put, work->audit, work->sheet);
    return write_put(work, &put);
}

static enum pd_status write_end(struct audit_work *work)
{
    struct pd_put put = {0};
    if (work->format == FORMAT_JSON)
        pd_audit_json_end(&put, work->audit, &work->tally);
    return write_put(work, &put);
}

enum pd_status audit_work_run(struct audit_work *work)
{
    enum pd_status status = run_pass(work, PASS_READINGS);
    if (status == PD_OK)
        status = pd_sheet_rewind(work->sheet, work->messages);
    if (status == PD_OK)
        status = write_head(work);
    if (status == PD_OK)
        status = run_pass(work, PASS_FINDINGS);
    return status == PD_OK ? write_end(work) : status;
}
