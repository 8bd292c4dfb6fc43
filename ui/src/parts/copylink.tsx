// A link that carries the case, to paste into a message or a lesson.

import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { files, name, text } from "../state/case";
import { toLink } from "../keep/link";
import { says } from "./openfiles";

/** Longer than this many a mail program or chat breaks a link. */
const LONG = 8000;
/** And no browser opens one longer than this. */
const MOST = 2_000_000;

export function CopyLink() {
  const fallback = useSignal("");
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => {
    if (fallback.value !== "") field.current?.select();
  }, [fallback.value]);
  const copy = async () => {
    const address = new URL(await toLink({ name: name.peek(), text: text.peek(), files: files.peek() }), location.href.split("#")[0]).href;
    if (address.length > MOST) {
      fallback.value = "";
      says.value = `No link: with its tables the case would make one of ${address.length} characters, and browsers open ${MOST} at most. Save the case as files instead.`;
      return;
    }
    const length = address.length > LONG ? ` It is ${address.length} characters long: some programs break links longer than ${LONG}; save the case as a file then.` : "";
    try {
      await navigator.clipboard.writeText(address);
      fallback.value = "";
      says.value = `Link copied; the case travels in it.${length}`;
    } catch {
      fallback.value = address;
      says.value = `The browser keeps the clipboard shut: copy the link from the field.${length}`;
    }
  };
  return (
    <>
      <button type="button" onClick={() => void copy()}>
        Copy link
      </button>
      {fallback.value !== "" && (
        <span class="link-fallback">
          <label class="hidden-label" for="link-text">
            Link to the case
          </label>
          <input ref={field} id="link-text" type="text" readOnly value={fallback.value} onFocus={(e) => e.currentTarget.select()} />
          <button type="button" class="small" onClick={() => (fallback.value = "")}>
            Done
          </button>
        </span>
      )}
    </>
  );
}
