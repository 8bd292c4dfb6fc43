// Batch: parts drawn within the tolerances of the case, how many are good, what to tighten first.

import { spread } from "../../state/answers";
import "../../styles/batch.css";
import { Panel } from "../asking";
import type { BatchReport } from "../reports";
import { BatchDrawn } from "./drawn";
import { BatchForm } from "./form";
import { options } from "./plan";

export function BatchPanel() {
  const answer = spread.answer.value;
  const report = answer?.report as BatchReport | undefined;
  return (
    <Panel slot={spread} what="Batch" options={options} doubts={report?.doubts} form={<BatchForm />} byButton open={/^(the batch|shares|tolerances for .*|warnings)$/i}>
      {answer !== null && report !== undefined && <BatchDrawn report={report} sheet={answer.sheet} />}
    </Panel>
  );
}
