// Chunks of a sweep read from Parquet. Loaded when a sweep is first laid over a map; the rest of the page does without it.

import { parquetMetadataAsync, parquetRead, type AsyncBuffer, type FileMetaData } from "hyparquet";
import { cellsDigest } from "./cells";
import type { Cell, Chunk } from "./points";

/** A file that says of itself that it is a chunk; its cells are not read yet. */
export interface Head {
  file: File;
  said: ReadonlyMap<string, string>;
  rows: number;
  metadata: FileMetaData;
}

const bufferOf = (file: File): AsyncBuffer => ({ byteLength: file.size, slice: (from, to) => file.slice(from, to).arrayBuffer() });

/** What the file says of itself; throws words on why it is no chunk. */
export async function headOf(file: File): Promise<Head> {
  const marks = await Promise.all([file.slice(0, 4).text(), file.slice(-4).text()]);
  if (file.size < 12 || marks[0] !== "PAR1") throw new Error("it is no Parquet file");
  if (marks[1] !== "PAR1") throw new Error("its end is missing");
  let metadata: FileMetaData;
  try {
    metadata = await parquetMetadataAsync(bufferOf(file), { geoparquet: false });
  } catch {
    throw new Error("it is damaged: it does not say what it holds");
  }
  const said = new Map((metadata.key_value_metadata ?? []).map((e) => [e.key, e.value ?? ""]));
  for (const key of ["plan_digest", "points", "chunk", "first_point", "cells_digest"])
    if (!said.has(`provenance.${key}`)) throw new Error("it is Parquet and no chunk of a sweep: it does not say which plan it is of");
  return { file, said, rows: Number(metadata.num_rows), metadata };
}

/** All cells; throws words on what is damaged. */
export async function chunkOf(head: Head): Promise<Chunk> {
  const columns = new Map<string, Cell[]>();
  for (const element of head.metadata.schema.slice(1)) columns.set(element.name, new Array<Cell>(head.rows).fill(null));
  try {
    await parquetRead({
      file: bufferOf(head.file),
      metadata: head.metadata,
      geoparquet: false,
      onChunk: ({ columnName, columnData, rowStart }) => {
        const into = columns.get(columnName);
        if (into === undefined) return;
        for (let i = 0; i < columnData.length; i++) into[rowStart + i] = (columnData[i] ?? null) as Cell;
      },
    });
  } catch {
    throw new Error("it is damaged: its columns cannot be read");
  }
  const first = Number(head.said.get("provenance.first_point"));
  // What was changed may be a number that is none any more.
  let digest = "";
  try {
    digest = cellsDigest(first, head.rows, [...columns.values()]);
  } catch {
    digest = "none";
  }
  if (digest !== head.said.get("provenance.cells_digest")) throw new Error("it is damaged: its cells are not those that it was written with");
  return { file: head.file.name, said: head.said, rows: head.rows, columns };
}
