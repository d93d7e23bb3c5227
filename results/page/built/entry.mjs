// What the report page needs of ECharts, and nothing more. rebuild.sh bundles it.
import { init, use } from "echarts/core";
import { LineChart, ScatterChart, BarChart, ParallelChart } from "echarts/charts";
import {
  GridComponent, TooltipComponent, LegendComponent, AriaComponent, MarkLineComponent, ParallelComponent,
  BrushComponent, VisualMapContinuousComponent,
} from "echarts/components";
import { LabelLayout } from "echarts/features";
import { CanvasRenderer, SVGRenderer } from "echarts/renderers";

use([LineChart, ScatterChart, BarChart, ParallelChart, GridComponent, TooltipComponent, LegendComponent,
  AriaComponent, MarkLineComponent, ParallelComponent, BrushComponent, VisualMapContinuousComponent,
  LabelLayout, CanvasRenderer, SVGRenderer]);

window.antiphaseCharts = { init };
