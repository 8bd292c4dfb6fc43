// What keys and tables of a case are called on the page. A key without an entry is called by its own name.

const LABELS: Record<string, string> = {
  title: "Title",
  "shape.kind": "Described by",
  "shape.surface": "Sizes refer to",
  "shape.radius": "Radius of the sphere",
  "shape.r": "Distance from the axis",
  "shape.z": "Height",
  "shape.file": "File of points",
  "shape.hole": "First point is a hole's edge",
  "shape.position_sd": "Scatter of the points",
  "shape.scale": "Scale of the profile",
  "shape.fillet": "Rounding of the corners",
  "shape.arc": "Radius of the pieces",
  "wall.arc": "Places along the arc",
  "wall.thickness_end": "Thickness at the outer end",
  "wall.rigid": "Rigid pieces (numbers)",
  "wall.table": "File of thicknesses",
  "wall.offset": "Added everywhere",
  "layers.name": "Material",
  "layers.share": "Share of the wall",
  "layers.moduli": "File of moduli",
  "layers.expansions": "File of expansions",
  "material.name": "Material",
  "material.youngs_modulus": "Young's modulus",
  "layers.youngs_modulus": "Young's modulus",
  "material.poisson_ratio": "Poisson ratio",
  "rim.kind": "Held how",
  "rim.radial": "Radial spring",
  "rim.axial": "Axial spring",
  "rim.circumferential": "Circumferential spring",
  "rim.turning": "Turning spring",
  "heat.formed_at": "Formed at",
  "heat.from": "Lowest temperature",
  "heat.to": "Highest temperature",
  "heat.face_difference": "Concave face warmer by",
  "heat.creep_from": "Slow movement counted from",
  "load.kind": "What pushes",
  "load.from": "Poked from",
  "load.control": "What is set",
  "load.arc": "Circle at arc length",
  "load.radius": "Radius of the ball or pusher",
  "load.follows": "Stays square to the wall",
  "memory.shares": "Share",
  "memory.times": "Relaxation time",
  "memory.table": "File of readings",
  "memory.shelf": "Typical memory of the shelf's material",
  "memory.shift": "Shift with temperature",
  "memory.c1": "Constant c1",
  "memory.c2": "Constant c2",
  "hold.shape": "Held in the shape",
  "hold.time": "Held for",
  "hold.let_go": "Let go",
  "hold.ramp": "Ramp",
  "hold.file": "File of the former",
  "hold.sideways": "Sideways deflection",
  "surroundings.rests": "Lies on",
  "surroundings.drag": "Drag coefficient",
  "size.vary": "May change",
  "size.wishes": "Wishes",
  "size.draws": "Parts drawn",
};

/** Tables in the order in which a person thinks of a part. */
export const GROUPS: { name: string; tables: string[] }[] = [
  { name: "The part", tables: ["", "shape", "wall", "layers"] },
  { name: "The material", tables: ["material", "memory"] },
  { name: "The rim", tables: ["rim"] },
  { name: "What is done to it", tables: ["load", "heat", "hold", "surroundings"] },
  { name: "What is wished of it", tables: ["size"] },
];

const TABLES: Record<string, string> = {
  shape: "Shape",
  wall: "Wall",
  layers: "Layers",
  material: "Material",
  memory: "Memory of the material",
  rim: "Rim",
  load: "Load",
  heat: "Heat",
  hold: "Hold and release",
  surroundings: "Surroundings",
  size: "Size",
};

/** Lists of one table that go row by row together, and what a row is. */
export const ROWS: Record<string, { row: string; keys: string[] }> = {
  shape: { row: "Corner", keys: ["r", "z", "fillet"] },
  wall: { row: "Place", keys: ["arc", "thickness", "thickness_end"] },
  layers: { row: "Layer", keys: ["name", "thickness", "share", "youngs_modulus", "poisson_ratio", "expansion"] },
  memory: { row: "Term", keys: ["shares", "times"] },
};

function words(key: string): string {
  const plain = key.replaceAll("_", " ");
  return plain.charAt(0).toUpperCase() + plain.slice(1);
}

export function labelOf(table: string, key: string): string {
  return LABELS[table === "" ? key : `${table}.${key}`] ?? words(key).replace("Half angle", "Half-angle");
}

export function tableLabel(table: string): string {
  return TABLES[table] ?? words(table);
}
