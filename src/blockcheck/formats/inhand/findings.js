// Findings: where one shows; its card stands on the page.
function findingsScreen(section) {
  hear(section, "[data-finding]", ({ dataset }) => {
    showFinding(data.findings[dataset.finding], JSON.parse(dataset.blocks));
    if (dataset.follows) openWay(dataset.follows);
  });
}

// The switches as the counter-example has them, what it is about marked.
function showFinding(one, marked) {
  const usual = stand(0).at, moved = {};
  for (const [name, at] of Object.entries(one.state ?? {}))
    if (SWITCH.has(name) && usual(name) !== at && canStand(name, at)) moved[name] = at;
  change({ state: 0, moved, marked, show: "all", screen: "yard", block: marked[0] });
  ROWS.get(marked[0]).control.focus();
}
