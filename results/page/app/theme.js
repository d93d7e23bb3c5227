// The two themes of the pictures: colours, font and axes. The hues are those of Okabe and Ito's set, which stay apart
// for colour-blind eyes (M. Okabe, K. Ito, "Color Universal Design", 2008); dashes and shapes carry the same difference.
const LIGHT = {
  ink: "#1b1d1f", quiet: "#5c6268", line: "#d4d6d4", faint: "#e9e9e5", paper: "#f3f3ef", curve: "#9aa0a6",
  one: "#0072b2", two: "#d55e00", third: "#009e73", fourth: "#a8487c", cloud: "#b9bdbf",
  shades: ["#8fd3bb", "#009e73", "#00402f"],
};
const DARK = {
  ink: "#e6e8e9", quiet: "#a0a8ae", line: "#363c41", faint: "#2a2f34", paper: "#1d2125", curve: "#7d868d",
  one: "#56b4e9", two: "#e69f00", third: "#2fc299", fourth: "#e0a3c4", cloud: "#555d63",
  shades: ["#1c6a51", "#2fc299", "#c9fbe9"],
};
const darkScreen = window.matchMedia("(prefers-color-scheme: dark)");
let printing = false;
const darkTheme = () => darkScreen.matches && !printing;
const PAPER = { ...LIGHT, paper: "#ffffff" };
const theme = () => (printing ? PAPER : darkTheme() ? DARK : LIGHT);

const FONT = "'Source Sans 3', 'Noto Sans', 'DejaVu Sans', system-ui, sans-serif";  // no double quotes: saved pictures put it into attributes

// What all pictures share. Tooltips are drawn, not built of HTML: the page allows no styles but its own.
function basis(colors) {
  return {
    animation: false, backgroundColor: colors.paper,
    textStyle: { fontFamily: FONT, color: colors.ink },
    grid: { left: 8, right: 16, top: 44, bottom: 56, containLabel: true },
    tooltip: {
      renderMode: "richText", confine: true, backgroundColor: colors.paper, borderColor: colors.quiet,
      borderWidth: 1, textStyle: { color: colors.ink, fontFamily: FONT, fontSize: 13 },
    },
    legend: {
      type: "plain", bottom: 0, itemWidth: 28, itemHeight: 12, itemGap: 14, textStyle: { color: colors.ink },
      inactiveColor: colors.line,
    },
  };
}

// Room below a plot whose legend of three long names breaks into two lines on a narrow screen.
const gridFor = (chart) => ({ ...basis(theme()).grid, bottom: chart.getWidth() < 420 ? 82 : 56 });

function axis(colors, name, more) {
  return {
    type: "value", name, nameLocation: "middle", nameGap: 30,
    nameTextStyle: { color: colors.ink, fontSize: 13 },
    axisLine: { show: true, onZero: false, lineStyle: { color: colors.quiet } },
    axisTick: { show: true, lineStyle: { color: colors.quiet } },
    axisLabel: { color: colors.quiet, hideOverlap: true },
    splitLine: { lineStyle: { color: colors.faint } },
    minorSplitLine: { show: false },
    ...more,
  };
}

// A legend entry that shows the line alone, without the dot that stands for its points.
const lineOnly = (name) => ({ name, itemStyle: { opacity: 0 } });

// The upright axis carries its name above its end, so that a narrow screen loses no width to it.
const uprightAxis = (colors, name, more) =>
  axis(colors, name, {
    nameLocation: "end", nameGap: 20, nameTextStyle: { color: colors.ink, fontSize: 13, align: "left" }, ...more,
  });
