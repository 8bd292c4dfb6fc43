import { render } from "preact";
import "./styles/tokens.css";
import "./styles/controls.css";
import "./styles/layout.css";
import { App } from "./app";
import { start } from "./start";

const root = document.getElementById("page");
if (root !== null) {
  render(<App />, root);
  void start();
}
