// How finely and how often the 3D view is drawn. A machine without a graphics processor draws in software, on the same cores that
// compute the answers: there the view is coarse and leaves breaks between frames while things move, and is drawn once more, finely, when
// they rest.

/** ms without a change after which things rest. */
const REST_MS = 300;
const LONGEST_BREAK_MS = 250;
const SOFTWARE = /swiftshader|llvmpipe|softpipe|software|basic render/i;

/** Whether WebGL here is drawn by the processor, by what the browser says of its renderer. */
export function drawnInSoftware(): boolean {
  const gl = document.createElement("canvas").getContext("webgl2");
  if (gl === null) return false;
  const about = gl.getExtension("WEBGL_debug_renderer_info");
  const name = String(gl.getParameter(about === null ? gl.RENDERER : about.UNMASKED_RENDERER_WEBGL));
  gl.getExtension("WEBGL_lose_context")?.loseContext();
  return SOFTWARE.test(name);
}

export class Pace {
  /** Nothing has moved for a while: the frame to come is the fine one. */
  resting = false;
  private timer: ReturnType<typeof setTimeout> | undefined;

  constructor(readonly soft: boolean) {}

  /** Something moves. */
  moves(): void {
    this.resting = false;
    clearTimeout(this.timer);
  }

  /** A frame is done and no other is wanted: `finely` is called once things have rested. */
  rests(finely: () => void): void {
    if (!this.soft || this.resting) return;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => {
      this.resting = true;
      finely();
    }, REST_MS);
  }

  /** Break before the next frame after one that took `whole` ms: half of the time is for other work. */
  breakAfter(whole: number): number {
    return this.soft ? Math.min(LONGEST_BREAK_MS, whole) : 0;
  }

  /** Pixels drawn for one of the page; software smooths edges by drawing finer, which only the resting frame pays for. */
  ratio(fewer: boolean): number {
    if (this.soft) return this.resting ? Math.max(2, devicePixelRatio) : 1;
    return Math.min(devicePixelRatio, fewer ? 1 : 2);
  }

  stop(): void {
    clearTimeout(this.timer);
  }
}
