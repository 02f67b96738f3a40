/** Every word the page says, one file for each place. A component holds no sentence of its own. */
import { appraisal } from "./appraisal";
import { drawings } from "./drawings";
import { help } from "./help";
import { home } from "./home";
import { master } from "./master";
import { paper } from "./paper";
import { phone } from "./phone";
import { print } from "./print";
import { proof } from "./proof";
import { shell } from "./shell";
import { shelves } from "./shelves";
import { states } from "./states";
import { test } from "./test";

export const words = {
  appraisal,
  drawings,
  help,
  home,
  master,
  paper,
  phone,
  print,
  proof,
  shell,
  shelves,
  states,
  test,
};
