import { mount } from "svelte";

import App from "./App.svelte";
import { store } from "./store.svelte";
import "./tokens.css";
import { watchGlass } from "./touch";

const target = document.getElementById("app");
if (target !== null) {
  mount(App, { target });
  watchGlass();
  void store.connect();
}
