package deploy_test

import (
	"path"
	"testing"
)

func TestClinicProtocol(t *testing.T) {
	base, patch := loadBase(t), loadPatch(t, protocolDir)
	pod := patch.Spec.Template.Spec
	if len(pod.Containers) != 1 || len(pod.Volumes) != 1 || len(pod.Containers[0].VolumeMounts) != 1 || len(pod.Containers[0].Env) != 1 {
		t.Fatal("want one container with one variable, one volume and its mount")
	}
	env, mount, volume := pod.Containers[0].Env[0], pod.Containers[0].VolumeMounts[0], pod.Volumes[0]
	if volume.ConfigMap == nil {
		t.Fatal("the volume is not a ConfigMap")
	}
	for _, err := range []error{
		equal("Deployment", patch.Name, base.deployment.Name),
		equal("container", pod.Containers[0].Name, container(base).Name),
		equal("variable", env.Name, "EVENREACH_PROTOCOL"),
		equal("folder of "+env.Name, path.Dir(env.Value), mount.MountPath),
		equal("file of "+env.Name, path.Base(env.Value), "protocol.yaml"),
		equal("volume of the mount", mount.Name, volume.Name),
		equal("ConfigMap", volume.ConfigMap.Name, "evenreach-protocol"),
		equal("readOnly", mount.ReadOnly, true),
	} {
		if err != nil {
			t.Error(err)
		}
	}
}
