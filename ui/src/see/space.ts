// The 3D view: draws when something has changed, one frame at a time, and never waits for the rasteriser: a new frame begins when a
// fence says that the last one is done, and a slow machine gets fewer segments and fewer pixels (`pace.ts`).

import { AmbientLight, BufferAttribute, BufferGeometry, Color, DirectionalLight, DoubleSide, HemisphereLight, Line, LineBasicMaterial, LineSegments, Mesh, MeshBasicMaterial, MeshPhongMaterial, OrthographicCamera, Raycaster, RingGeometry, Scene, SphereGeometry, Vector2, Vector3, WebGLRenderer } from "three";
import type { Frame } from "../types";
import type { Pick } from "../state/scene";
import type { Extent } from "./extent";
import { height } from "./extent";
import { band, edgePoints } from "./lines";
import { drawnInSoftware, Pace } from "./pace";
import { Solid, type Shape } from "./solid";

/** Everything the view shows. */
export interface Picture {
  shape: Omit<Shape, "segments">;
  /** Shapes beside it, see-through: the natural one, the mirror image. */
  ghost: Frame | null;
  image: Frame | null;
  /** Lip: radius and height of its beginning on the outer face, drawn as a ring. */
  ring: { r: number; z: number }[];
  dots: { mesh: "shape" | "image"; points: [number, number, number][] }[];
  ink: { paper: string; part: string; edge: string; line: string; lip: string; mirror: string; third: string };
  coloured: boolean;
}

/** How the view is turned. */
export interface Turn {
  azimuth: number;
  elevation: number;
  zoom: number;
}
export const HOME: Turn = { azimuth: 0.35, elevation: 0.42, zoom: 1 };

const SEGMENTS = [128, 96, 64, 48];

export class Space {
  readonly turn: Turn = { ...HOME };
  /** Last frame: time of our own work and until the rasteriser was done, ms. */
  readonly times = { script: 0, whole: 0 };
  /** Called after each frame has been handed over: overlays follow. */
  after: () => void = () => {};
  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new OrthographicCamera(-1, 1, 1, -1, 0.01, 50);
  private readonly solid = new Solid();
  private readonly ghost = new Solid();
  private readonly image = new Solid();
  private readonly mesh: Mesh<BufferGeometry, MeshPhongMaterial>;
  private readonly ghostMesh: Mesh<BufferGeometry, MeshBasicMaterial>;
  private readonly imageMesh: Mesh<BufferGeometry, MeshBasicMaterial>;
  private readonly plane: Mesh<BufferGeometry, MeshBasicMaterial>;
  private readonly lines: LineSegments<BufferGeometry, LineBasicMaterial>;
  private readonly lip: Mesh<BufferGeometry, MeshBasicMaterial>[] = [];
  private readonly balls: Mesh[] = [];
  private readonly chords: Line[] = [];
  private readonly hemisphere = new HemisphereLight(0xffffff, 0x8a8f96, 1.5);
  private readonly sun = new DirectionalLight(0xffffff, 1.7);
  private readonly ambient = new AmbientLight(0xffffff, 0.3);
  private picture: Picture | null = null;
  private dirty = false;
  private wanted = false;
  private busy = false;
  private gone = false;
  /** Programs of the materials are built beside the page's work; until then nothing is drawn. */
  private built: "no" | "under way" | "yes" = "no";
  private level = 0;
  private slow = 0;
  private fast = 0;
  private unit = 1;
  private readonly pace = new Pace(drawnInSoftware());

  /** Throws when the browser has no WebGL. */
  constructor(readonly canvas: HTMLCanvasElement) {
    this.renderer = new WebGLRenderer({ canvas, antialias: !this.pace.soft, alpha: true });
    this.renderer.setClearAlpha(0);
    // Asking for a program's errors waits for it.
    this.renderer.debug.checkShaderErrors = false;
    this.mesh = new Mesh(this.solid.geometry, new MeshPhongMaterial({ vertexColors: true, shininess: 18, specular: 0x222222 }));
    const glass = (opacity: number) => new MeshBasicMaterial({ transparent: true, opacity, depthWrite: false, side: DoubleSide });
    this.ghostMesh = new Mesh(this.ghost.geometry, glass(0.16));
    this.imageMesh = new Mesh(this.image.geometry, glass(0.16));
    this.plane = new Mesh(new RingGeometry(1, 1.16, 96).rotateX(-Math.PI / 2), glass(0.09));
    this.lines = new LineSegments(new BufferGeometry(), new LineBasicMaterial({ transparent: true, opacity: 0.8 }));
    for (const m of [this.mesh, this.ghostMesh, this.imageMesh, this.plane, this.lines]) {
      m.frustumCulled = false;
      this.scene.add(m);
    }
    this.plane.renderOrder = 1;
    this.ghostMesh.renderOrder = 2;
    this.imageMesh.renderOrder = 3;
    this.scene.add(this.hemisphere, this.sun, this.ambient);
    canvas.addEventListener("webglcontextlost", (e) => e.preventDefault());
    canvas.addEventListener("webglcontextrestored", () => this.show(this.picture));
  }

  dispose(): void {
    this.gone = true;
    this.pace.stop();
    this.renderer.dispose();
  }

  get segments(): number {
    return SEGMENTS[this.pace.resting ? 0 : this.level] ?? 48;
  }

  /** Another picture, or the same seen anew. */
  show(picture: Picture | null): void {
    this.picture = picture;
    this.dirty = true;
    this.ask();
  }

  /** Asks for a frame; many askings make one. */
  ask(): void {
    this.pace.moves();
    this.want();
  }

  private want(): void {
    if (this.wanted || this.gone) return;
    this.wanted = true;
    if (!this.busy) requestAnimationFrame(() => this.frame());
  }

  private frame(): void {
    if (this.gone) return;
    this.wanted = false;
    if (this.picture === null) return;
    if (this.built !== "yes") {
      if (this.built === "no") this.compile(this.picture);
      return;
    }
    const began = performance.now();
    this.draw();
    this.times.script = performance.now() - began;
    this.after();
    const gl = this.renderer.getContext() as WebGL2RenderingContext;
    const fence = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
    gl.flush();
    this.busy = true;
    const look = () => {
      const state = fence === null ? gl.ALREADY_SIGNALED : gl.clientWaitSync(fence, 0, 0);
      if (state === gl.TIMEOUT_EXPIRED && performance.now() - began < 2000) {
        setTimeout(look, 4);
        return;
      }
      if (fence !== null) gl.deleteSync(fence);
      this.times.whole = performance.now() - began;
      this.canvas.dataset.ms = this.times.whole.toFixed(0);
      this.canvas.dataset.script = this.times.script.toFixed(1);
      if (!this.pace.resting) this.adapt();
      setTimeout(() => {
        this.busy = false;
        if (this.wanted) requestAnimationFrame(() => this.frame());
        else
          this.pace.rests(() => {
            this.dirty = true;
            this.want();
          });
      }, this.pace.breakAfter(this.times.whole));
    };
    setTimeout(look, 0);
  }

  private compile(p: Picture): void {
    this.built = "under way";
    this.build(p);
    const ready = () => {
      this.built = "yes";
      this.ask();
    };
    if (this.renderer.extensions.has("KHR_parallel_shader_compile")) void this.renderer.compileAsync(this.scene, this.camera).then(ready, ready);
    else setTimeout(ready, 0);
  }

  /** Fewer segments after several slow frames, more after many fast ones. */
  private adapt(): void {
    if (this.times.whole > 30) this.slow++;
    else this.slow = 0;
    this.fast = this.times.whole < 12 ? this.fast + 1 : 0;
    if (this.slow >= 3 && this.level < SEGMENTS.length - 1) {
      this.level++;
      this.slow = 0;
      this.dirty = true;
    } else if (this.fast > 60 && this.level > 0) {
      this.level--;
      this.fast = 0;
      this.dirty = true;
    }
  }

  private draw(): void {
    const p = this.picture;
    const { clientWidth: w, clientHeight: h } = this.canvas;
    if (p === null || w === 0 || h === 0) return;
    const ratio = this.pace.ratio(this.level > 0);
    const size = this.renderer.getSize(new Vector2());
    if (size.x !== w || size.y !== h || this.renderer.getPixelRatio() !== ratio) {
      this.renderer.setPixelRatio(ratio);
      this.renderer.setSize(w, h, false);
    }
    if (this.dirty) this.build(p);
    this.dirty = false;
    this.aim(w, h, p.shape.extent);
    this.renderer.render(this.scene, this.camera);
  }

  private build(p: Picture): void {
    const { shape, ink } = p;
    const e = shape.extent;
    this.unit = Math.max(e.radius, (e.high - e.low) / 2);
    const scale = 1 / this.unit;
    this.solid.write({ ...shape, segments: this.segments });
    this.mesh.scale.setScalar(scale);
    this.hemisphere.intensity = p.coloured ? 2.2 : 1.5;
    this.sun.intensity = p.coloured ? 0.9 : 1.7;
    for (const [mesh, solid, frame, colour] of [
      [this.ghostMesh, this.ghost, p.ghost, ink.line],
      [this.imageMesh, this.image, p.image, ink.mirror],
    ] as const) {
      mesh.visible = frame !== null;
      if (frame === null) continue;
      solid.write({ ...shape, frame, ripple: null, segments: 64, wallScale: 0, cutColour: null, colours: () => [1, 1, 1] });
      mesh.material.color.set(colour);
      mesh.scale.setScalar(scale);
    }
    const rim = (shape.extent.flip ? (shape.frame.r_m[shape.frame.r_m.length - 1] ?? e.radius) : e.radius) * 1.02;
    this.plane.scale.setScalar(Math.max(rim, e.radius * 0.9) * scale);
    this.plane.position.y = 0;
    this.plane.material.color.set(ink.line);
    this.ring(p, scale);
    this.marks(p, scale);
    this.edges(p, scale);
  }

  private edges(p: Picture, scale: number): void {
    this.lines.geometry.dispose();
    this.lines.geometry.setAttribute("position", new BufferAttribute(edgePoints(p.shape), 3));
    this.lines.material.color.set(p.ink.edge);
    this.lines.scale.setScalar(scale);
  }

  private ring(p: Picture, scale: number): void {
    while (this.lip.length < p.ring.length) {
      const m = new Mesh<BufferGeometry, MeshBasicMaterial>(new BufferGeometry(), new MeshBasicMaterial({ side: DoubleSide }));
      this.lip.push(m);
      this.scene.add(m);
    }
    this.lip.forEach((m, k) => {
      const at = p.ring[k];
      m.visible = at !== undefined;
      if (at === undefined) return;
      const { positions, index } = band(at, 0.007 * this.unit, p.shape.span);
      m.geometry.dispose();
      m.geometry.setAttribute("position", new BufferAttribute(positions, 3));
      m.geometry.setIndex(index);
      m.material.color.set(p.ink.lip);
      m.scale.setScalar(scale);
      m.frustumCulled = false;
    });
  }

  /** Points picked and the chord between them. */
  private marks(p: Picture, scale: number): void {
    for (const o of [...this.balls, ...this.chords]) {
      this.scene.remove(o);
      o.geometry.dispose();
    }
    // Points lie in the middle of the wall: balls reach out of it.
    const size = Math.max(0.035, 0.8 * p.shape.wallScale * Math.max(...p.shape.film.thickness_m) * scale);
    this.balls.length = 0;
    this.chords.length = 0;
    for (const group of p.dots) {
      const colour = new Color(group.mesh === "shape" ? p.ink.third : p.ink.mirror);
      const points = group.points.map(([x, y, z]) => new Vector3(x, height(p.shape.extent, z), y).multiplyScalar(scale));
      for (const at of points) {
        const ball = new Mesh(new SphereGeometry(size, 20, 14), new MeshBasicMaterial({ color: colour }));
        ball.position.copy(at);
        this.balls.push(ball);
        this.scene.add(ball);
      }
      if (points.length === 2) {
        const line = new Line(new BufferGeometry().setFromPoints(points), new LineBasicMaterial({ color: colour, depthTest: false, transparent: true }));
        line.renderOrder = 5;
        this.chords.push(line);
        this.scene.add(line);
      }
    }
  }

  private aim(w: number, h: number, e: Extent): void {
    const { azimuth, elevation, zoom } = this.turn;
    const ce = Math.cos(elevation);
    const middle = (0.5 * (e.high + e.low)) / this.unit;
    const dir = new Vector3(Math.sin(azimuth) * ce, Math.sin(elevation), Math.cos(azimuth) * ce);
    this.camera.position.copy(dir).multiplyScalar(12).add(new Vector3(0, middle, 0));
    this.camera.up.set(0, 1, 0);
    this.camera.lookAt(0, middle, 0);
    const tall = (Math.abs((e.high - e.low) * ce) / 2 + e.radius * Math.abs(Math.sin(elevation))) / this.unit;
    const wide = (e.radius / this.unit) * 1.02;
    const half = Math.max(tall * 1.16, (wide * 1.12 * h) / w) / zoom;
    this.camera.top = half;
    this.camera.bottom = -half;
    this.camera.right = (half * w) / h;
    this.camera.left = -this.camera.right;
    this.camera.updateProjectionMatrix();
    this.camera.updateMatrixWorld();
    // The light stands over the viewer's left shoulder.
    this.sun.position.copy(dir.clone().applyAxisAngle(new Vector3(0, 1, 0), -0.7).add(new Vector3(0, 0.9, 0)));
  }

  /** Metres of a pixel on the screen. */
  get metresPerPixel(): number {
    return ((this.camera.top - this.camera.bottom) / Math.max(1, this.canvas.clientHeight)) * this.unit;
  }

  /** Where a point (radius at an angle, height drawn; m) lies on the canvas, px. */
  project(r: number, theta: number, high: number): { x: number; y: number } {
    const v = new Vector3(r * Math.cos(theta), high, r * Math.sin(theta)).divideScalar(this.unit).project(this.camera);
    return { x: (0.5 + v.x / 2) * this.canvas.clientWidth, y: (0.5 - v.y / 2) * this.canvas.clientHeight };
  }

  /** The point of the part under the pointer. */
  pick(x: number, y: number): Pick | null {
    const film = this.picture?.shape.film;
    if (film === undefined) return null;
    const at = new Vector2((2 * x) / this.canvas.clientWidth - 1, 1 - (2 * y) / this.canvas.clientHeight);
    const ray = new Raycaster();
    ray.setFromCamera(at, this.camera);
    this.mesh.geometry.boundingSphere = null;
    const hit = ray.intersectObject(this.mesh)[0];
    if (hit?.face === undefined || hit.face === null) return null;
    return { s: film.s_m[this.solid.placeOf(hit.face.a)] ?? 0, theta: Math.atan2(hit.point.z, hit.point.x) };
  }

  /** The view as a picture, `scale` times as fine, over `paper`. */
  async png(scale: number, paper: string, over: (c: CanvasRenderingContext2D, w: number, h: number) => void): Promise<Blob> {
    const { clientWidth: w, clientHeight: h } = this.canvas;
    const flat = document.createElement("canvas");
    flat.width = Math.round(w * scale);
    flat.height = Math.round(h * scale);
    const c = flat.getContext("2d");
    if (c === null) throw new Error("this browser draws no pictures");
    this.renderer.setPixelRatio(scale);
    this.renderer.setSize(w, h, false);
    this.draw2();
    c.fillStyle = paper;
    c.fillRect(0, 0, flat.width, flat.height);
    c.drawImage(this.canvas, 0, 0, flat.width, flat.height);
    c.scale(scale, scale);
    over(c, w, h);
    this.dirty = true;
    this.ask();
    return await new Promise((yes, no) => flat.toBlob((b) => (b === null ? no(new Error("the picture could not be written")) : yes(b)), "image/png"));
  }

  private draw2(): void {
    const p = this.picture;
    if (p === null) return;
    this.aim(this.canvas.clientWidth, this.canvas.clientHeight, p.shape.extent);
    this.renderer.render(this.scene, this.camera);
  }
}
