// What stands over the film while it cannot be seen, and waiting until it can.

/** The dark plate that stands for a frame which is not there yet; up until the first one is. */
export function addPlate(stage) {
  const plate = document.createElement("p");
  plate.className = "plate";
  const position = Number(stage.dataset.frame || stage.dataset.first) - Number(stage.dataset.first);
  plate.textContent = (stage.dataset.waiting ?? "").replace("{frame}", position);
  stage.append(plate);
  return plate;
}

export function addProblem(stage) {
  const message = document.createElement("p");
  message.className = "problem";
  message.setAttribute("role", "alert");
  message.textContent = stage.dataset.problem ?? "";
  stage.append(message);
}

export function twoPaints() {
  return new Promise((resolve) => {
    requestAnimationFrame(() => requestAnimationFrame(resolve));
  });
}
