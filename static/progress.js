// Asks for the state of a job and reloads the page when it is finished. Without script the page
// has a link that looks again.
document.querySelectorAll("[data-progress]").forEach((box) => {
  const bar = box.querySelector("progress");
  if (!bar) return;
  const ask = async () => {
    try {
      const answer = await fetch(box.dataset.progress, { headers: { Accept: "application/json" } });
      if (answer.ok) {
        const job = await answer.json();
        if (job.finished) return window.location.reload();
        bar.max = job.total || 1;
        bar.value = job.done;
      }
    } catch (error) { /* the server is away for a moment: ask again */ }
    window.setTimeout(ask, 1000);
  };
  window.setTimeout(ask, 700);
});
