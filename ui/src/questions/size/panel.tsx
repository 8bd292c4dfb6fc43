// Size: which sizes give what is wished; a solution can be taken into the case.

import { size } from "../../state/answers";
import "../../styles/batch.css";
import { Panel } from "../asking";
import type { SizeReport } from "../reports";
import { SizeDrawn } from "./drawn";
import { SizeForm } from "./form";
import { freeze, options } from "./plan";
import { Solutions } from "./solutions";

export function SizePanel() {
  const answer = size.answer.value;
  const report = answer?.report as SizeReport | undefined;
  return (
    <Panel slot={size} what="Size" options={options} doubts={report?.doubts} form={<SizeForm />} byButton onAsk={freeze} open={/^(asked|what one costs.*|the part that comes nearest.*|warnings)$/i}>
      {answer !== null && report !== undefined && (
        <>
          <Solutions report={report} sheet={answer.sheet} />
          <SizeDrawn report={report} />
        </>
      )}
    </Panel>
  );
}
