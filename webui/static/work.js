// How far work is, each second; when it is over the page is loaded once more, with what came of it.

const bar = document.querySelector("progress");
const words = bar?.previousElementSibling;

async function look() {
  try {
    const answer = await fetch(`/api/v1${location.pathname}`, { cache: "no-store" });
    if (!answer.ok) return location.reload();
    const work = await answer.json();
    if (work.ended || work.state === "stopped") return location.reload();
    if (work.state === "running") {
      const far = work.total ? `: ${work.done} of ${work.total}` : "";
      const text = `It is under way${far}.`;
      if (words.textContent !== text) words.textContent = text;
    }
    if (work.total) {
      bar.max = work.total;
      bar.value = work.done;
    }
  } catch {
    // The network is away for a moment: it is asked again.
  }
  setTimeout(look, 1000);
}

if (bar && words) setTimeout(look, 1000);
