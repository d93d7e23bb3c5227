// The program's own solver inside the page, as WebAssembly. A design is a list of numbers, as pass_design() in
// live_fields.h has them.
const DEPTH = { atTarget: 2, withHand: 5 };  // of stagemodels/evaluate.h

// What of [heading, cell] stands under a heading of the page, "plate 1\nk\u03a9"; with its unit where that differs.
function cellUnder(heading, parts) {
  const split = (words) => { const at = words.lastIndexOf("\n"); return at < 0 ? [words, ""] : [words.slice(0, at), words.slice(at + 1)]; };
  const [name, unit] = split(heading), part = parts.find(([other]) => split(other)[0] === name);
  if (!part) return "";
  const own = split(part[0])[1];
  return own === unit || part[1].trim() === "" ? part[1] : `${part[1].trim()}\u00a0${own}`;
}

const solver = {
  code: null,
  async start() {
    const text = atob(byId("live-code").textContent), bytes = new Uint8Array(text.length);
    for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
    // Nothing of the system is used; the names are there because the C library knows them.
    const nothing = new Proxy({}, { get: () => () => 0, has: () => true });
    const module = await WebAssembly.compile(bytes);
    const imports = {};
    for (const { module: from, name } of WebAssembly.Module.imports(module)) (imports[from] ??= {})[name] = nothing[name];
    const { exports } = await WebAssembly.instantiate(module, imports);
    exports._initialize?.();
    this.code = exports;
    this.numbers(exports.live_room(data.live.task.length), data.live.task.length).set(data.live.task);
    if (!exports.live_set_up(data.live.task.length)) throw new Error("the page's data do not fit its solver");
    this.size = exports.live_design_size();
    this.forms = exports.live_forms_size();
    this.fields = JSON.parse(this.text(exports.live_fields()));
  },
  numbers(at, count) { return new Float64Array(this.code.memory.buffer, at, count); },
  text(at) { return new TextDecoder().decode(new Uint8Array(this.code.memory.buffer, at, this.code.live_text_size())); },
  give(design) { this.numbers(this.code.live_given(), this.size).set(design); },

  // {figures, score, overrun}, or null where it is no design.
  solve(design, depth) {
    this.give(design);
    if (!this.code.live_solve(depth)) return null;
    const count = this.code.live_figure_count(), out = this.numbers(this.code.live_solved(), 2 * count + 3);
    const at = (i) => (out[2 * i] ? out[2 * i + 1] : null);
    return { figures: Array.from({ length: count }, (_, i) => at(i)), score: at(count), overrun: out[2 * count + 2] };
  },
  // For each field [applies, value, next lower standard value or 0, next higher].
  steps(design) {
    this.give(design);
    const out = this.numbers(this.code.live_steps(), 4 * this.fields.length);
    return this.fields.map((_, i) => [...out.subarray(4 * i, 4 * i + 4)]);
  },
  // What an entry of the page's data has, and its block.
  describe(design) {
    this.give(design);
    const at = this.code.live_describe();
    if (!at) return null;
    const found = JSON.parse(this.text(at));
    found.limits = found.limits.map(([kind, value, limit, margin_pct, kept]) => ({ ...found.limit_kinds[kind], value, limit, margin_pct, kept }));
    found.build = data.build.map((heading) => cellUnder(heading, found.parts));
    return found;
  },
};
