import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vite";

// Built into the Python package, whose server hands it out; nothing in it names a host.
export default defineConfig({
  plugins: [svelte()],
  base: "/",
  build: {
    outDir: "../src/wallworthy/web/static",
    emptyOutDir: true,
    target: "es2022",
    modulePreload: { polyfill: false },
    assetsInlineLimit: 0,
  },
});
