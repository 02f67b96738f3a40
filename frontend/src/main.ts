import { mount } from "svelte";
import App from "./App.svelte";

const target = document.getElementById("page");
if (!target) throw new Error("index.html has no place for the page");
mount(App, { target });
