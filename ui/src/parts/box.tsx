// A text box that shows a value of the case and lets a person type in peace: what is typed stays as typed until the value is
// changed by something else (undo, a slider, the text) or the box is left.

import { useSignal } from "@preact/signals";

interface BoxProps {
  id: string;
  value: string;
  /** Called at every letter, or only when the box is left or Enter pressed with `late`. False: not taken, what is typed stays. */
  onType: (typed: string) => void;
  label?: string | undefined;
  describedBy?: string | undefined;
  invalid?: boolean | undefined;
  placeholder?: string | undefined;
  list?: string | undefined;
  late?: boolean | undefined;
  onStep?: ((by: number) => void) | undefined;
  class?: string | undefined;
  disabled?: boolean | undefined;
}

export function Box(props: BoxProps) {
  const draft = useSignal<{ typed: string; against: string | null } | null>(null);
  const d = draft.value;
  // The first new value after a letter is what the letter made of it.
  if (d !== null && d.against === null) d.against = props.value;
  const stands = d !== null && d.against === props.value;
  return (
    <input
      type="text"
      id={props.id}
      class={props.class}
      value={stands ? d.typed : props.value}
      aria-label={props.label}
      aria-describedby={props.describedBy}
      aria-invalid={props.invalid ? "true" : undefined}
      placeholder={props.placeholder}
      list={props.list}
      disabled={props.disabled}
      autocomplete="off"
      spellcheck={false}
      inputMode="text"
      onInput={(e) => {
        const typed = e.currentTarget.value;
        draft.value = { typed, against: props.late ? props.value : null };
        if (!props.late) props.onType(typed);
      }}
      onChange={(e) => {
        const typed = e.currentTarget.value;
        if (props.late && typed !== props.value) props.onType(typed);
      }}
      onBlur={() => (draft.value = null)}
      onKeyDown={(e) => {
        if (props.onStep === undefined || e.altKey || e.ctrlKey || e.metaKey) return;
        const by = e.key === "ArrowUp" ? 1 : e.key === "ArrowDown" ? -1 : 0;
        if (by === 0) return;
        e.preventDefault();
        draft.value = null;
        props.onStep(by * (e.shiftKey ? 10 : 1));
      }}
    />
  );
}
