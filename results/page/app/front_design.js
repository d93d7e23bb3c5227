// A member of the front that is not in the table: what is known of it, without the blocks that the listed have.
function table(caption, rows) {
  const scroll = make("div", "", { class: "scroll" }), out = make("table");
  out.append(make("caption", caption));
  const body = out.createTBody();
  for (const [label, value, row] of rows) {
    const line = make("tr", "", row ? { class: row } : {});
    line.append(make("th", label, { scope: "row" }), make("td", value, { class: "n" }));
    body.append(line);
  }
  scroll.append(out);
  const card = make("div", "", { class: "card" });
  card.append(scroll);
  return card;
}

function showFrontDesign(design) {
  const place = byId("front-design");
  place.hidden = design.entry >= 0 || Boolean(design.block);
  if (place.hidden) return place.replaceChildren();
  const cards = make("div", "", { class: "cards" });
  cards.append(table("What it does", data.figures.map((f, n) => [f.label, figureSays(f, design.figures[n], 4)]).filter(([, v]) => v !== "none")));
  const limits = [...design.limits].sort((a, b) => (a.margin_pct ?? -1e9) - (b.margin_pct ?? -1e9));
  if (limits.length)
    cards.append(table("Limits, tightest first", limits.map((l) => [limitName(l), (l.value === null ? "unknown" : limitSays(l)) + (l.kept ? ", kept" : ", BROKEN"), l.kept ? "" : "broken"])));
  place.replaceChildren(
    make("h2", design.name), make("p", design.design + ".", { class: "lead" }),
    make("p", "It is on the front but not in the table, so it was solved up to the target only. Save it as a design file and antiphase evaluate gives the rest: drawing, parts list with ratings, frequency, safety notes.", { class: "quiet" }), cards);
}
