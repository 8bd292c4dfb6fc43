// The page: the part and its quick changes (left), what it looks like and what one asks of it (middle), the answer (right). On a phone
// one below the other, with a bar to jump between them. The order here is that of the tab key and of the phone.

import { Answer } from "./answer/answer";
import { Part } from "./parts/part";
import { Quick } from "./parts/quick";
import { JumpBar } from "./parts/jumpbar";
import { Questions } from "./questions/questions";
import { See } from "./see/see";
import { TopBar } from "./parts/topbar";
import { Tour } from "./tour/tour";

export function App() {
  return (
    <>
      <a class="skip" href="#answer">
        Skip to the answer
      </a>
      <TopBar />
      <main class="bench">
        <section class="bench-see" id="see" aria-label="What it looks like" tabIndex={-1}>
          <See />
        </section>
        <section class="bench-answer" id="answer" aria-label="The answer" tabIndex={-1}>
          <Answer />
        </section>
        <div class="bench-left">
          <section class="bench-quick" id="quick" aria-label="Quick changes">
            <Quick />
          </section>
          <section class="bench-part" id="part" aria-label="The part" tabIndex={-1}>
            <Part />
          </section>
        </div>
        <section class="bench-questions" id="questions" aria-label="Questions" tabIndex={-1}>
          <Questions />
        </section>
      </main>
      <JumpBar />
      <Tour />
    </>
  );
}
