// The checksum that a chunk carries of its own cells: a file that was changed by a disk or a transfer shows by it, as Parquet alone does not.

import type { Cell } from "./points";

/** FNV-1a of 64 bits, in two halves: the multiplier is 2^40 + 435. */
class Sum {
  private high = 0xcbf29ce4;
  private low = 0x84222325;
  private readonly eight = new DataView(new ArrayBuffer(8));

  byte(b: number): void {
    const low = (this.low ^ b) >>> 0;
    const wide = low * 435;
    this.high = (this.high * 435 + Math.floor(wide / 2 ** 32) + ((low << 8) >>> 0)) >>> 0;
    this.low = wide >>> 0;
  }

  bytes(list: Iterable<number>): void {
    for (const b of list) this.byte(b);
  }

  private flush(): void {
    for (let i = 0; i < 8; i++) this.byte(this.eight.getUint8(i));
  }

  whole(n: bigint): void {
    this.eight.setBigInt64(0, n, true);
    this.flush();
  }

  number(x: number): void {
    this.eight.setFloat64(0, x, true);
    this.flush();
  }

  value(): bigint {
    return (BigInt(this.high) << 32n) | BigInt(this.low);
  }
}

const encoder = new TextEncoder();

/** The checksum of the cells of a chunk, row by row, as sixteen hexadecimal digits. */
export function cellsDigest(firstPoint: number, rows: number, columns: readonly (readonly Cell[])[]): string {
  const texts = new Map<string, Uint8Array>();
  const bytesOf = (text: string): Uint8Array => {
    let found = texts.get(text);
    if (found === undefined) texts.set(text, (found = encoder.encode(text)));
    return found;
  };
  let length = 0;
  for (const column of columns)
    for (let i = 0; i < rows; i++) {
      const cell = column[i] ?? null;
      length += cell === null || typeof cell === "boolean" ? 1 : typeof cell === "string" ? 9 + bytesOf(cell).length : 9;
    }
  const sum = new Sum();
  sum.bytes(encoder.encode("calrun1\n"));
  for (const n of [0, firstPoint, rows, length]) sum.whole(BigInt(n));
  for (let i = 0; i < rows; i++)
    for (const column of columns) {
      const cell = column[i] ?? null;
      if (cell === null) sum.byte(0);
      else if (typeof cell === "number") {
        sum.byte(1);
        sum.number(cell);
      } else if (typeof cell === "bigint") {
        sum.byte(2);
        sum.whole(cell);
      } else if (typeof cell === "boolean") sum.byte(cell ? 5 : 4);
      else {
        const bytes = bytesOf(cell);
        sum.byte(3);
        sum.whole(BigInt(bytes.length));
        sum.bytes(bytes);
      }
    }
  // A chunk on the disk ends in its own checksum, and what the file carries is that of all of it.
  sum.whole(BigInt.asIntN(64, sum.value()));
  return sum.value().toString(16).padStart(16, "0");
}
