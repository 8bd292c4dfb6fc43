// What a plot is told. Everything is in SI; an axis says in which unit it shows.

/** Names of colour tokens (styles/tokens.css). */
export type Colour = "accent" | "second" | "third" | "bad" | "ink" | "ink-soft" | "line-strong" | "lip";
export type Dash = "solid" | "long" | "short" | "dot" | "dashdot";
export type Symbol = "circle" | "square" | "triangle" | "diamond" | "cross";

export interface Axis {
  label: string;
  /** Unit shown, and its worth in SI; `unitFor` chooses both. */
  unit: string;
  per: number;
  /** Shown = (SI − zero) / per: 273.15 for degrees Celsius. */
  zero?: number;
  scale?: "linear" | "log";
  /** SI ends; without them those of the data, a little wider. */
  from?: number;
  to?: number;
  /** Take zero into the axis. */
  withZero?: boolean;
  /** Do not widen to round ends. */
  tight?: boolean;
  /** Only whole numbers are places (wave numbers). */
  whole?: boolean;
}

export type Values = readonly (number | null)[];

export interface Curve {
  kind: "curve";
  name: string;
  x: Values;
  y: Values;
  colour: Colour;
  dash?: Dash;
  width?: number;
  /** Keep it out of the legend. */
  quiet?: boolean;
  /** Keep it out of the read-out under the pointer and of the ends of the axes. */
  aside?: boolean;
  /** A ring at every point. */
  dots?: boolean;
}

export interface Points {
  kind: "points";
  name: string;
  x: Values;
  y: Values;
  colour: Colour;
  symbol?: Symbol;
  hollow?: boolean;
  quiet?: boolean;
  /** One label a point; "" for none. */
  labels?: readonly string[];
  /** A line from each point down to the axis. */
  stems?: boolean;
  size?: number;
}

/** Many points that are told apart by sign, under the curves: drawn as one path, out of the read-out under the pointer. */
export interface Cloud {
  kind: "cloud";
  name: string;
  x: readonly number[];
  y: readonly number[];
  colour: Colour;
  quiet?: boolean;
  sign: "dot" | "ring" | "cross";
  /** Half of the sign's width, pixels. */
  radius: number;
}

/** Between two curves over the same x. */
export interface Band {
  kind: "band";
  name: string;
  x: Values;
  low: Values;
  high: Values;
  colour: Colour;
  quiet?: boolean;
}

/** A line right across, at one x or one y, with a word. */
export interface Mark {
  kind: "x" | "y";
  at: number;
  label: string;
  colour?: Colour;
  dash?: Dash;
}

/** An arrow from a point to a point: a jump. */
export interface Arrow {
  kind: "arrow";
  name: string;
  from: [number, number];
  to: [number, number];
  colour: Colour;
  dash?: Dash;
  quiet?: boolean;
}

/** A range of x laid under the curves. */
export interface Zone {
  kind: "zone";
  name: string;
  from: number;
  to: number;
  colour: Colour;
  quiet?: boolean;
}

export type Layer = Curve | Points | Cloud | Band | Arrow | Zone;

interface Handle {
  /** What a person moves: "Place on the path". */
  name: string;
  /** Its value in words. */
  says: string;
  colour?: Colour;
}

/** Moves along a polyline; `place` is an index, with a fraction between two points. */
export interface AlongMarker extends Handle {
  kind: "along";
  x: Values;
  y: Values;
  place: number;
  onPlace: (place: number) => void;
  /** Steps of the arrow keys, in places. */
  step?: number;
}

/** A line right down, moved over x. */
export interface CursorMarker extends Handle {
  kind: "cursor";
  x: number;
  onX: (x: number) => void;
}

/** Moves freely. */
export interface FreeMarker extends Handle {
  kind: "free";
  x: number;
  y: number;
  onXY: (x: number, y: number) => void;
  /** Called when it is let go, also after each key. */
  onDone?: (x: number, y: number) => void;
}

export type Marker = AlongMarker | CursorMarker | FreeMarker;

export interface PlotProps {
  /** Accessible name and title of a saved picture. */
  title: string;
  /** What the plot shows, in a sentence or two, for those who do not see it; ranges of the curves are added. */
  says?: string;
  x: Axis;
  y: Axis;
  layers: Layer[];
  marks?: Mark[];
  markers?: Marker[];
  height?: number;
  /** Called with the svg element, for saving. */
  svgRef?: (svg: SVGSVGElement | null) => void;
  /** No legend. */
  bare?: boolean;
  /** Words in the place of the read-out while no pointer is there. */
  hint?: string;
}
