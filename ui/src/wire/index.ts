// What goes between page and server, generated from the server's types.

export type { About } from "./About";
export type { AnswerLine } from "./AnswerLine";
export type { Ask } from "./Ask";
export type { CaseFiles } from "./CaseFiles";
export type { CaseName } from "./CaseName";
export type { FigureLine } from "./FigureLine";
export type { FindingLine } from "./FindingLine";
export type { FolderFiles } from "./FolderFiles";
export type { FolderName } from "./FolderName";
export type { Kind } from "./Kind";
export type { Limits } from "./Limits";
export type { Line } from "./Line";
export type { Named } from "./Named";
export type { ProgressLine } from "./ProgressLine";
export type { Refused } from "./Refused";
export type { TableLine } from "./TableLine";
export type { Wants } from "./Wants";
