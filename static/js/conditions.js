/** Which questions are asked: by family and by other answers, the same rule as on the server. */
import { all, answers } from "./dom.js";

/** "rod=one_way|two_way&bridge_kind=pin": every named question must hold one of its values. */
export function holds(rule, answersOf) {
  return rule.split("&").filter(Boolean).every((part) => {
    const [id, values] = part.split("=");
    const given = answersOf(id);
    return values.split("|").some((value) => given.includes(value));
  });
}

export function asked(question, answersOf = answers) {
  const { families = "", when = "" } = question.dataset;
  const family = answersOf("family")[0];
  return (!families || families.split(" ").includes(family)) && holds(when, answersOf);
}

/** Show the questions that are asked now, hide the others; what stands in them is kept. */
export function sift(root = document) {
  for (const question of all("[data-families], [data-when]", root)) question.hidden = !asked(question);
}
