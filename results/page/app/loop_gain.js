// The loop gain of overall feedback: size above, phase below, and both margins as strokes between the curve and the line
// that it must not reach.
const LOOP_HZ = [1, 1e6], LEAST_SHOWN_DB = -30;

// Dashed lines that a margin is counted to, and a solid stroke with round ends for the margin; its words stand where no
// curve that falls to both sides goes.
function marginMarks(colors, levels, strokes, place) {
  return { markLine: {
    silent: true, animation: false, symbol: "none", lineStyle: { color: colors.quiet, type: [4, 3], width: 1 },
    data: [
      ...levels.map((y) => ({ yAxis: y, label: { show: false } })),
      ...strokes.map(([hz, from, to, words, low]) => [
        { coord: [hz, from], symbol: "circle", symbolSize: 7, lineStyle: { color: colors.two, type: "solid", width: 3 },
          label: { formatter: words, color: colors.ink, fontSize: 12, position: place, rotate: 0, align: low ? "left" : "right", verticalAlign: "middle", distance: 0, padding: [0, 8] } },
        { coord: [hz, to], symbol: "circle", symbolSize: 7 },
      ]),
    ],
  } };
}

function loopMargins(loop) {
  const turned = (hz) => (loop.phase_deg[nearest(loop.frequency_hz, hz)] < 0 ? -180 : 180);
  const [gain, phase] = [loop.gain_margin, loop.phase_margin];
  return {
    gain: gain && { hz: gain[0], left: gain[1], words: `gain margin ${plain(gain[1], 3)} dB` },
    phase: phase && { hz: phase[0], left: phase[1], turned: turned(phase[0]), words: `phase margin ${plain(phase[1], 3)}\u00b0` },
  };
}

function drawLoop(chart, entry) {
  const colors = theme(), loop = entry.loop, m = loopMargins(loop);
  const places = [m.gain, m.phase].filter(Boolean).map((p) => p.hz).filter((hz) => hz >= loop.frequency_hz[0] && hz <= LOOP_HZ[1]);
  const range = [Math.min(LOOP_HZ[0], 10 ** Math.floor(Math.log10(Math.min(LOOP_HZ[0], ...places)) + 1e-9)), LOOP_HZ[1]];
  const inside = (p) => p && p.hz >= range[0] && p.hz <= range[1];
  const lowest = Math.min(LEAST_SHOWN_DB, inside(m.gain) ? -m.gain.left - 8 : 0), highest = Math.max(0, ...loop.gain_db) + 4;
  const step = 6 * Math.ceil((highest - lowest) / 36), bottom = step * Math.floor(lowest / step), top = step * Math.ceil(highest / step);
  const gains = points(loop.frequency_hz, loop.gain_db, range).filter(([, v]) => v >= bottom);
  const phases = points(loop.frequency_hz, loop.phase_deg, range), turns = phases.map(([, v]) => v);
  const low = (p) => Math.log10(p.hz / range[0]) < 0.5 * Math.log10(range[1] / range[0]);
  drawStacked(chart, range, [
    { name: "loop gain", unit: " dB", series: [["loop", gains]], axis: { min: bottom, max: top, interval: step },
      marks: marginMarks(colors, [0], inside(m.gain) ? [[m.gain.hz, -m.gain.left, 0, m.gain.words, low(m.gain)]] : [], "start") },
    { name: "its phase", unit: "\u00b0", series: [["loop", phases]],
      axis: { min: Math.min(-180, 90 * Math.floor(Math.min(...turns) / 90)), max: Math.max(180, 90 * Math.ceil(Math.max(...turns) / 90)), interval: 90 },
      marks: marginMarks(colors, [180, -180], inside(m.phase) ?
        [[m.phase.hz, m.phase.turned - Math.sign(m.phase.turned) * m.phase.left, m.phase.turned, m.phase.words, low(m.phase)]] : [], "middle") },
  ], tipOf([["gain", " dB"], ["phase", "\u00b0"]]));
  const mid = nearest(loop.frequency_hz, 1000);
  return `Loop gain against frequency, ${hertz(range[0])} to ${hertz(range[1])}: ${plain(loop.gain_db[mid], 3)} dB at 1 kHz; ${marginWords(m)}.`;
}

const marginWords = (m) => [m.gain ? `${m.gain.words} at ${hertz(m.gain.hz)}` : "no gain margin is needed",
  m.phase ? `${m.phase.words} at ${hertz(m.phase.hz)}` : "no phase margin is needed"].join(", ");

const loopNote = (entry) => "The strokes are the margins, from the curve to the dashed line that it must not reach: " + marginWords(loopMargins(entry.loop)) +
  ". Numbers stand in the table of the loop gain.";
