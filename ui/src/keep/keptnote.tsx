// Says at the top of a kept copy what it is.

import "../styles/keep.css";
import { keptSays } from "./kept";

export function KeptNote() {
  return keptSays === null ? null : (
    <p class="kept-note" role="note">
      {keptSays} Films, views and plots work; nothing is sent anywhere.
    </p>
  );
}
