// Signs, drawn here: a letter of a font that a machine lacks shows as an empty box. They stand beside words that say the same.

import type { ComponentChildren } from "preact";

const SHAPES = {
  // A bowl at rest.
  stays: <path d="M3 7c1 7 17 7 18 0M3 19h18" />,
  // A way back.
  returns: <path d="M6 4v6h6M6.5 10a7.5 7.5 0 1 1-1.4 6" />,
  // An hourglass.
  waits: <path d="M6 3h12M6 21h12M7.5 3c0 6 4 6 4.5 9-.5 3-4.5 3-4.5 9M16.5 3c0 6-4 6-4.5 9 .5 3 4.5 3 4.5 9" />,
  undecided: <path d="M7.5 9c0-6 9-6 9-.5 0 4-4.5 3.5-4.5 7M12 19.5v.8" />,
  warning: <path d="M12 3 2 21h20zM12 9.5v5.5M12 17.800v.6" />,
  shape: <path d="M3 18c0-15 18-15 18 0" />,
  done: <path d="m4 13 5 6L20 5" />,
  pen: <path d="M4 20l1-5L16 4l4 4L9 19z" />,
  cross: <path d="m5 5 14 14M19 5 5 19" />,
  undo: <path d="M8 4 3 9l5 5M3 9h11a6 6 0 0 1 0 12h-3" />,
  redo: <path d="m16 4 5 5-5 5M21 9H10a6 6 0 0 0 0 12h3" />,
  play: <path class="sign-full" d="M6 3v18l15-9z" />,
  pause: <path class="sign-full" d="M5 4h5v16H5zM14 4h5v16h-5z" />,
  home: <path d="M3 12 12 4l9 8M6 10v10h12V10" />,
} satisfies Record<string, ComponentChildren>;

export type SignName = keyof typeof SHAPES;

export function Sign({ name }: { name: SignName }) {
  return (
    <svg class="sign" viewBox="0 0 24 24" width="1em" height="1em" aria-hidden="true" focusable="false">
      {SHAPES[name]}
    </svg>
  );
}
