// Holds a bundle against FHIR R4, required code lists included; prints what is wrong as JSON.
import { readFileSync } from "node:fs";
import { Fhir } from "fhir/fhir.js";

const bundle = JSON.parse(readFileSync(process.argv[2], "utf8"));
const { valid, messages } = new Fhir().validate(bundle, { errorOnUnexpected: true });
const wrong = messages.filter((message) => message.severity === "error" || message.severity === "fatal");
console.log(JSON.stringify({ valid, wrong }));
