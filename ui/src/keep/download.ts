// Hands a file to the browser to keep.

export function download(fileName: string, content: string | Blob, type = "text/plain"): void {
  const blob = typeof content === "string" ? new Blob([content], { type: `${type};charset=utf-8` }) : content;
  const url = URL.createObjectURL(blob);
  const link = document.createElement("a");
  link.href = url;
  link.download = fileName;
  document.body.append(link);
  link.click();
  link.remove();
  // The browser reads the content after this turn; a minute is ample even on a slow disk.
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

/** Bytes of base64 as a file. */
export function fromBase64(words: string, type: string): Blob {
  return new Blob([Uint8Array.from(atob(words), (c) => c.charCodeAt(0))], { type });
}

/** `cap.toml` -> `cap`; only letters, digits, dot, dash and underscore stay. */
export function stem(fileName: string): string {
  const bare = fileName.replace(/\.toml$/, "").replace(/[^\p{L}\p{N}._-]+/gu, "-").replace(/^[-.]+|-+$/g, "");
  return bare === "" ? "case" : bare;
}

/** A size as people say it. */
export function sizeWords(bytes: number): string {
  return bytes < 1e3 ? `${bytes} bytes` : bytes < 1e6 ? `${Math.round(bytes / 1e3)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
