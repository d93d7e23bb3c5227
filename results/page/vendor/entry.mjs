// What the report page needs of ECharts, and nothing more. See rebuild.sh.
import { init, use } from "echarts/core";
import { LineChart, ScatterChart, BarChart } from "echarts/charts";
import {
  GridComponent, TooltipComponent, LegendComponent, AriaComponent, MarkLineComponent,
} from "echarts/components";
import { LabelLayout } from "echarts/features";
import { SVGRenderer } from "echarts/renderers";

use([LineChart, ScatterChart, BarChart, GridComponent, TooltipComponent, LegendComponent,
  AriaComponent, MarkLineComponent, LabelLayout, SVGRenderer]);

window.antiphaseCharts = { init };
