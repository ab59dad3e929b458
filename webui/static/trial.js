// One question of a trial at a time. Without this they stand below one another, in the same order.
const trial = document.getElementById("trial");
const questions = [...trial.querySelectorAll(".question")];
const told = document.getElementById("trial-place");
const steps = trial.querySelector(".steps");
const back = document.getElementById("trial-back");
const next = document.getElementById("trial-next");
const all = document.getElementById("trial-all");
let at = 0;

function show(place, moves = true) {
  at = Math.max(0, Math.min(place, questions.length - 1));
  for (const [number, question] of questions.entries()) question.classList.toggle("now", number === at);
  back.disabled = at === 0;
  next.hidden = at === questions.length - 1;
  const last = at === questions.length - 1;
  told.textContent = last ? "All questions are behind you." : `Question ${at + 1} of ${questions.length - 1}`;
  if (!moves) return;
  questions[at].querySelector("h2").tabIndex = -1;
  questions[at].querySelector("h2").focus({ preventScroll: true });
  trial.scrollIntoView({ block: "start" });
}

back.addEventListener("click", () => show(at - 1));
next.addEventListener("click", () => show(at + 1));
all.addEventListener("click", () => {
  trial.classList.remove("stepping");
  told.hidden = true;
  steps.hidden = true;
});
// Enter goes on to the next question, and does not send what is half done.
trial.addEventListener("keydown", (event) => {
  const typing = event.key === "Enter" && event.target.matches("input");
  if (typing && trial.classList.contains("stepping") && at < questions.length - 1) {
    event.preventDefault();
    show(at + 1);
  }
});

trial.classList.add("stepping");
told.hidden = false;
steps.hidden = false;
show(0, false);
