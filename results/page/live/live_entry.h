/// The door through which the page's script calls the solver: C functions over numbers and text.
///
/// Compiled into the page by rebuild.sh, and natively for the tests. One task at a time, one thread. Numbers
/// are SI. live_solve() and live_steps() allocate nothing; live_set_up() and live_describe() do.
#pragma once

#ifdef __wasm__
#define LIVE_EXPORT(name) __attribute__((export_name(#name))) name
#else
#define LIVE_EXPORT(name) name
#endif

extern "C" {

/// Room for `count` numbers of a task; valid until the next call.
double* LIVE_EXPORT(live_room)(int count);

/// Takes the task (live_task() in live_data.h) from the room. 0: it is no such task.
int LIVE_EXPORT(live_set_up)(int count);

int LIVE_EXPORT(live_design_size)();   ///< numbers of a design (pass_design() in live_fields.h)
int LIVE_EXPORT(live_forms_size)();    ///< how many of them stand before those of design_fields()
int LIVE_EXPORT(live_figure_count)();  ///< figures()
double* LIVE_EXPORT(live_given)();     ///< where the design to be solved is put, #live_design_size

/// Solves the given design to a Depth (stagemodels/evaluate.h). 0: no such design, nothing solved.
int LIVE_EXPORT(live_solve)(int depth);

/// What came out: for every figure whether it is known and its value, then the same for the score, then how
/// far limits are overrun (0: all kept, of those that the depth knows). #2 live_figure_count + 3.
const double* LIVE_EXPORT(live_solved)();

/// Of the given design, for each of design_fields() whether it applies, its value, and the next lower and
/// higher standard value (0: none). #4 per field.
const double* LIVE_EXPORT(live_steps)();

/// Words of design_fields(): a JSON array of {pointer, label, unit, role, low, high, required, series}.
const char* LIVE_EXPORT(live_fields)();

/// Solves the given design with all there is and describes it: a JSON object as of an entry of the page's
/// data, with `block` (the design's article), `parts` [heading, cell] and its own limit_kinds. Null: no such
/// design.
const char* LIVE_EXPORT(live_describe)();

int LIVE_EXPORT(live_text_size)();  ///< bytes of the last text
}
