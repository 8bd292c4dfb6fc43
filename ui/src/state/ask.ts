// Asking the server. One slot per question: a late answer never overwrites a newer one, long work tells its progress and can be stopped.

import { computed, signal, type ReadonlySignal, type Signal } from "@preact/signals";
import { kept } from "../keep/kept";
import type { Answer, Finding, Progress, Question, Refused, Wants } from "../types";
import { files, text } from "./case";
import { turn } from "./turns";

export type Want = Partial<Wants>;

/** The questions as the page holds them; `hand` is a poke by hand, beside that of the case's load. */
export type SlotName = Question | "hand";

/** What was asked. */
export interface Asked {
  text: string;
  files: Record<string, string>;
  options: Record<string, unknown>;
}

export interface Outcome<R> {
  findings: Finding[];
  answer: Answer<R> | null;
  refused: Refused | null;
}

/** Whether the server could be reached when it was last asked. */
export const away = signal(false);
/** Why a server that is there answers this page no more: it was started again with another token. */
export const shut = signal<Refused | null>(null);

/** Answers that took longer are not asked for again without a word from the person. */
const QUICK_MS = 2000;

const pageId = crypto.randomUUID();

/** One request, to its end. Never throws: what went wrong is in `refused`. */
export async function ask<R>(
  question: Question,
  asked: Asked,
  want: Want = { film: true },
  progress: (p: Progress) => void = () => {},
  findings: (f: Finding[]) => void = () => {},
  signal?: AbortSignal,
): Promise<Outcome<R>> {
  const out: Outcome<R> = { findings: [], answer: null, refused: null };
  const long = question !== "look" && question !== "verdict";
  const over = long ? await turn(signal, () => progress({ share: null, words: "waiting: four other questions are being worked on" })) : () => {};
  if (over === null) {
    out.refused = { kind: "stopped", says: "Stopped.", help: null };
    return out;
  }
  try {
    const response = await fetch(`./api/ask/${question}`, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ ...asked, want, page: pageId }),
      ...(signal === undefined ? {} : { signal }),
    });
    away.value = false;
    for await (const line of lines(response)) {
      if (line.findings) {
        out.findings = line.findings;
        findings(line.findings);
      }
      if (line.progress) progress(line.progress);
      if (line.answer) out.answer = line.answer as Answer<R>;
      if (line.refused) out.refused = line.refused;
    }
    if (out.answer === null && out.refused === null) {
      out.refused = { kind: "away", says: "The server ended before it answered.", help: "Ask again; if it goes on, start the server again." };
      away.value = true;
    }
  } catch (e) {
    if (signal?.aborted) out.refused = { kind: "stopped", says: "Stopped.", help: null };
    else {
      away.value = true;
      out.refused = { kind: "away", says: `The server cannot be reached (${e instanceof Error ? e.message : String(e)}).`, help: "Start it again with `calotte serve`; the page goes on by itself." };
    }
  } finally {
    over();
  }
  return out;
}

interface Line {
  findings?: Finding[];
  progress?: Progress;
  answer?: Answer;
  refused?: Refused;
}

async function* lines(response: Response): AsyncGenerator<Line> {
  const reader = response.body?.pipeThrough(new TextDecoderStream()).getReader();
  let rest = "";
  for (;;) {
    const { value, done } = (await reader?.read()) ?? { value: undefined, done: true };
    if (done) break;
    rest += value ?? "";
    const parts = rest.split("\n");
    rest = parts.pop() ?? "";
    for (const part of parts) if (part.trim() !== "") yield JSON.parse(part) as Line;
  }
  if (rest.trim() !== "") yield JSON.parse(rest) as Line;
}

/** One question as the page holds it. */
export class Slot<R> {
  readonly answer: Signal<Answer<R> | null> = signal(null);
  readonly refused: Signal<Refused | null> = signal(null);
  readonly findings: Signal<Finding[]> = signal([]);
  readonly busy = signal(false);
  readonly progress: Signal<Progress | null> = signal(null);
  /** What the answer in hand was asked about. */
  readonly asked: Signal<Asked | null> = signal(null);
  /** Whether the case has changed since. */
  readonly stale: ReadonlySignal<boolean> = computed(
    () => this.asked.value !== null && (this.asked.value.text !== text.value || this.asked.value.files !== files.value),
  );
  /** Time from asking to the answer in the page, ms. */
  readonly tookMs = signal(0);
  /** What was asked last, whatever came of it. */
  private sent: Asked | null = null;
  private stopper: AbortController | null = null;
  private waiting: Asked | null = null;
  private startedAt = 0;

  constructor(
    readonly name: SlotName,
    readonly question: Question,
    private readonly want: Want = { film: true },
  ) {
    const found = kept?.answers[name];
    if (found !== undefined) {
      this.answer.value = found.answer as Answer<R>;
      this.asked.value = found.asked;
    }
  }

  /** Whether the case in hand was asked about already, whatever came of it. */
  tried(): boolean {
    return this.sent !== null && this.sent.text === text.peek() && this.sent.files === files.peek();
  }

  /** Whether the page may ask again by itself: not where it takes long, or where a person or the clock stopped it. */
  askedAgain(): boolean {
    const kind = this.refused.peek()?.kind;
    if (kind === "slow" || kind === "stopped") return false;
    return this.answer.peek() === null || this.tookMs.peek() < QUICK_MS;
  }

  /**
   * Asks about the case in hand. While one is under way the newest waits and goes next: sliders get a steady stream of answers
   * instead of none. A request older than `patience` ms is given up for the newer one.
   */
  run(options: Record<string, unknown> = {}, patience = 300): void {
    if (kept !== null) return;
    const asked = { text: text.peek(), files: files.peek(), options };
    if (this.busy.peek()) {
      this.waiting = asked;
      if (performance.now() - this.startedAt > patience) this.stopper?.abort();
      return;
    }
    void this.send(asked);
  }

  /** Stops what is under way and what waits. */
  stop(): void {
    this.waiting = null;
    this.stopper?.abort();
  }

  private async send(asked: Asked): Promise<void> {
    this.sent = asked;
    this.busy.value = true;
    this.progress.value = null;
    this.startedAt = performance.now();
    this.stopper = new AbortController();
    const out = await ask<R>(this.question, asked, this.want, (p) => (this.progress.value = p), (f) => (this.findings.value = f), this.stopper.signal);
    const next = this.waiting;
    this.waiting = null;
    this.busy.value = false;
    this.progress.value = null;
    if (out.answer !== null) {
      this.tookMs.value = performance.now() - this.startedAt;
      this.asked.value = asked;
      this.answer.value = out.answer;
      this.refused.value = null;
    } else if (next === null || out.refused?.kind !== "stopped") {
      this.refused.value = out.refused;
    }
    if (next !== null) void this.send(next);
  }
}
