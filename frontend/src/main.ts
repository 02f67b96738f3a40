import { mount } from "svelte";
import "./styles/tokens.css";
import "./styles/base.css";
import "./styles/parts.css";
import "./styles/table.css";
import App from "./App.svelte";

const target = document.getElementById("page");
if (!target) throw new Error("index.html has no place for the page");
mount(App, { target });
