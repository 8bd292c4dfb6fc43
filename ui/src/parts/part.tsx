// The part: the case as a form and as text, always the same case.

import { kept } from "../keep/kept";
import { findings } from "../state/answers";
import { text } from "../state/case";
import "../styles/editor.css";
import "../styles/part.css";
import { Editor } from "./editor";
import { FindingList, side } from "./finding";
import { Form } from "./form";

export function Part() {
  if (kept !== null) {
    return (
      <>
        <h2>The case</h2>
        <pre class="kept-text">{text.value}</pre>
      </>
    );
  }
  const wrong = findings.value.length;
  return (
    <>
      <div class="part-head">
        <h2>The case</h2>
        <div class="sides" role="group" aria-label="Show the case as">
          <button type="button" aria-pressed={side.value === "form"} onClick={() => (side.value = "form")}>
            Form
          </button>
          <button type="button" aria-pressed={side.value === "text"} onClick={() => (side.value = "text")}>
            Text
          </button>
        </div>
      </div>
      {side.value === "form" ? (
        <>
          {wrong > 0 && <FindingList />}
          <Form />
        </>
      ) : (
        <>
          <Editor />
          <div id="case-findings">
            <FindingList />
          </div>
        </>
      )}
    </>
  );
}
