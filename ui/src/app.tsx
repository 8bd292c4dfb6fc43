// The page: what the part is (left), what it looks like and what one asks of it (middle), what the answer is (right).

import { Answer } from "./answer/answer";
import { Part } from "./parts/part";
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
        <section class="bench-part" id="part" aria-label="The part">
          <Part />
        </section>
        <section class="bench-see" id="see" aria-label="What it looks like">
          <See />
        </section>
        <section class="bench-answer" id="answer" aria-label="The answer" tabIndex={-1}>
          <Answer />
        </section>
        <section class="bench-questions" id="questions" aria-label="Questions">
          <Questions />
        </section>
      </main>
      <Tour />
    </>
  );
}
