// A page of work that goes on: read it again every two seconds, while somebody looks at it.
setInterval(() => {
  if (!document.hidden) location.reload();
}, 2000);
